"""From files on disk to typed tables in the warehouse, with a finding for every cell that cannot be read."""
