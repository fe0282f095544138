"""Rows of the fact tables by name. Knows which table holds what, and nothing of what the rows mean."""

from typing import Any

from bodygen import tables
from bodygen.errors import DesignError


def row(table: str, section: str, name: str, key: str) -> dict[str, Any]:
    """Row ``name`` of a table's section; ``key`` is the recipe key that asked for it.

    Raises
    ------
    DesignError
        There is no such row; the message lists the names there are.
    """
    rows: dict[str, dict[str, Any]] = tables.load(table)[section]
    if name not in rows:
        msg = f'{key} = "{name}": no such row in the table; one of {", ".join(sorted(rows))}.'
        raise DesignError(msg)
    return rows[name]


def density(found: dict[str, Any]) -> float:
    """Density of a metal's, sheet's or coat's row [g/cm^3]."""
    for name in ("density_kg_m3", "equivalent_density_kg_m3", "dry_density_kg_m3"):
        if name in found:
            return float(found[name]) / 1000
    msg = f"the row of {found.get('name', 'this material')} has no density."
    raise DesignError(msg)


def bounds(found: dict[str, Any]) -> tuple[float, float]:
    """Lowest and highest density of a row [g/cm^3]; both the density itself where the row names no bounds."""
    middle = 1000 * density(found)
    return float(found.get("density_low", middle)) / 1000, float(found.get("density_high", middle)) / 1000
