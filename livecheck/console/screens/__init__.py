"""One file a screen: it shows records and says what the technician did (``console.events``)."""
