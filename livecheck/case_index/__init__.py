"""The case index: all cases of a shop drive, found, counted, and learned from.

``index`` keeps the index, ``query`` says what can be asked, ``shop`` puts both to one
shop drive, ``summary`` is what a case leaves for it, ``outcomes`` reads confirmed cases and
``learned`` keeps what they taught, ``page`` writes the case index as one HTML page.
"""
