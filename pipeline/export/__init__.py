"""A book's logs and figures as files for other programs: CSV, Parquet, a workbook, or one data package."""
