"""What lies on a shop drive, or comes from a device, made to do harm."""
