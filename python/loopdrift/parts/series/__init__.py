"""Hourly years from files and tables as they come: text, spreadsheets, Parquet and DataFrames."""
