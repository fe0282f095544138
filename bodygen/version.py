"""The version, once: pyproject.toml holds the number and the installed package repeats it."""

from importlib.metadata import PackageNotFoundError, version

try:
    VERSION = version("bodygen")
except PackageNotFoundError:  # a bare checkout on PYTHONPATH
    VERSION = "0+unknown"
