"""Write the JSON beside each table of facts, as in: python .ci/tables.py."""

import json
import tomllib
from pathlib import Path

TABLES = Path(__file__).parents[1] / "bodygen" / "tables"


def as_json(path: Path) -> str:
    """A table's TOML as one line of JSON; what JSON cannot hold (dates, infinities) is refused."""
    facts = tomllib.loads(path.read_text(encoding="utf-8"))
    return json.dumps(facts, ensure_ascii=False, allow_nan=False, separators=(",", ":")) + "\n"


def main() -> None:
    """Write all of them, and take away those whose table is gone."""
    paths = sorted(TABLES.glob("*.toml"))
    for old in TABLES.glob("*.json"):
        if old.with_suffix(".toml") not in paths:
            old.unlink()
    for path in paths:
        path.with_suffix(".json").write_text(as_json(path), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
