"""A load for a graphics chip that checks its own results, through OpenGL ES without a screen."""
