"""What can be asked of a book: rows fetched, handed to an analysis, returned as a value."""
