"""The graphics load, with Mesa's software renderer in place of a chip."""
