"""Two benches, each a machine of its own, save at once on one SMB or NFS share."""
