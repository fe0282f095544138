"""The version, once; pyproject.toml reads it from here. Asking the installed package takes 17 ms of every start."""

VERSION = "0.1.0"
