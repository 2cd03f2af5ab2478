"""The shelf: all cases of a shop drive, found, counted, and learned from.

``index`` keeps the index, ``query`` says what can be asked, ``shop`` puts both to one
shop drive, ``summary`` is what a case leaves for it, ``priors`` learns from outcomes,
``page`` writes the shelf as one HTML page.
"""
