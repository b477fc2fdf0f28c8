"""One book's folder: book.toml, a new book, the units it is shown in."""
