"""Old records taken over: a sheet in somebody's own columns is read, its columns proposed, questions asked, rows written."""
