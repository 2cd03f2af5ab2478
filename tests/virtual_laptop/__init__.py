"""A laptop made of QEMU: parts in places, faults hidden in them, and the stick.

Everything runs under software emulation. What a fault does to the guest is set up
outside of it; the program under test is our image, which knows nothing of it.
"""
