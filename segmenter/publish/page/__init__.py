"""The lesson page: one file that opens from a double-click, without a network."""
