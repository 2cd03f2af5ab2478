"""Bad disks without hardware: a guest whose kernel makes them, and what livecheck finds."""
