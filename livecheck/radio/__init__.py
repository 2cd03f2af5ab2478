"""Wireless radios as the kernel tells of them through generic netlink (nl80211).

``netlink`` asks and hands the kernel's messages on as they are; ``decode`` makes
``radio.state`` records of them, without I/O; so a recorded machine's radios are read
again by whatever the decoder has learned since. No connection is ever made.
"""
