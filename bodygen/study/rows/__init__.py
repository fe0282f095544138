"""One design becomes one row; rows become a table."""
