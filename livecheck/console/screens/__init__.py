"""One file a screen. A screen shows records and posts wishes; the app acts on them."""
