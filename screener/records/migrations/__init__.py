"""The steps by which a database on disk becomes what ``tables.py`` describes. Run by `screener.records.schema`."""
