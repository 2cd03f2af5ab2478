"""Data the application, the image and the tests share; see livecheck.knowledge."""
