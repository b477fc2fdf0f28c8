"""DuckDB: the connection, the order of models, the settings as tables, the file and its comments."""
