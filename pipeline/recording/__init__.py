"""Recording: rows into the logs, all or nothing, from the keyboard, the phone, paper or a spreadsheet."""
