"""Starting again and again: a machine that starts only sometimes, counted unattended.

``planned`` keeps the plan and ``judged`` concludes from it, both pure; ``notes`` has them on the
shop drive, where the next start finds them, and ``course`` restarts the machine.
"""
