"""What agencies tell each other of dip sites: records that never change, their store, signatures and packs."""
