"""Links and buses: PCI Express, USB, what parts behind one controller share, links cold and hot."""
