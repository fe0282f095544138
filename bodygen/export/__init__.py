"""A file format a module, one function each. Nothing is computed here: shapes and numbers come in finished."""
