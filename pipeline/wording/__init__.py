"""Where a mass, share, date or count becomes text in the book's units, and a value becomes a sentence."""
