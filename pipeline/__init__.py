"""combtally: from a book of wax logs to yields, losses, stock and a report."""
