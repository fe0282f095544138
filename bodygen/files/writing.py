"""Writing the kinds of file: what a change of the recipe touches is made anew, the rest is taken over as it is."""

import json
import shutil
from collections.abc import Callable, Sequence
from dataclasses import asdict
from functools import partial
from hashlib import sha256
from importlib import import_module
from pathlib import Path
from typing import Any

from bodygen.assessment import Assessment
from bodygen.extras import refuse_missing
from bodygen.files.kinds import KINDS, Kind, digest_of
from bodygen.files.made_with import made_with
from bodygen.files.outcome import Listed, Outcome
from bodygen.findings import Finding
from bodygen.folder.own_files import MANIFEST
from bodygen.folder.publish import Draft
from bodygen.recipe.model import MeshFile, Recipe
from bodygen.version import VERSION

Say = Callable[[str], None]
Writer = Callable[[Assessment, Draft, str], Outcome]


def writer_of(kind: Kind, say: Say) -> Writer:
    """What writes a kind; each loads what it needs only when it is asked for."""
    module, _, function = kind.writer.rpartition(".")
    write: Callable[..., Outcome] = getattr(import_module(f"bodygen.files.{module}"), function)
    return partial(write, say=say) if kind.tells else write


def refuse_missing_extras(kinds: Sequence[Kind], recipe: Recipe) -> None:
    """Say before any work is done what these kinds of a bait's files need that is not installed.

    Raises
    ------
    MissingExtraError
        In one line: which kinds need which extra, how to install it, and which kinds can be made without.
    """
    bare = {"solids"} if isinstance(recipe.shape, MeshFile) else set()  # no surface behind a mesh, so no STEP
    refuse_missing({kind.name: () if kind.name in bare else kind.needs for kind in kinds}, "--only {}")


def write_kinds(
    a: Assessment, draft: Draft, before: Path, wanted: Sequence[Kind], say: Callable[[str], None], about: dict[str, Any]
) -> tuple[Outcome, tuple[str, ...]]:
    """Write the wanted kinds, or take over what is unchanged from ``before``; other current kinds there stay.

    ``about`` gets the entry for the manifest that the next build reads. Returns all outcomes as one, and the names of
    the kinds that were made anew.
    """
    kept = _kept(before)
    outcomes: list[Outcome] = []
    made: list[str] = []
    entries: dict[str, Any] = {}
    for kind in KINDS:
        digest = digest_of(kind, a.recipe, a.told)
        old = kept.get(kind.name)
        if old is not None and old["digest"] == digest:
            for name, purpose in old["files"].items():
                shutil.copy2(before / name, draft.add(name, purpose))
            outcome = _outcome(old)
        elif kind in wanted:
            say(kind.about)
            already = set(draft.purposes)
            outcome = writer_of(kind, say)(a, draft, f"bodygen {VERSION}, made from {digest[:8]}")
            made.append(kind.name)
            old = {"files": {n: p for n, p in draft.purposes.items() if n not in already}}
        else:
            continue
        outcomes.append(outcome)
        entries[kind.name] = {
            "digest": digest,
            "files": old["files"],
            "findings": [f.document(a.recipe.units) for f in outcome.findings],
            "listed": [asdict(line) for line in outcome.listed],
            "cad_volume": outcome.cad_volume,
            "cautions": outcome.cautions,
        }
    about["made_with"] = made_with()
    about["kinds"] = entries
    volumes = [o.cad_volume for o in outcomes if o.cad_volume is not None]
    whole = Outcome(
        tuple(f for o in outcomes for f in o.findings),
        volumes[0] if volumes else None,
        tuple(line for o in outcomes for line in o.listed),
        tuple(dict.fromkeys(key for o in outcomes for key in o.cautions)),
    )
    return whole, tuple(made)


def _outcome(entry: dict[str, Any]) -> Outcome:
    findings = tuple(Finding(**row) for row in entry["findings"])
    listed = tuple(Listed(**row) for row in entry["listed"])
    return Outcome(findings, entry["cad_volume"], listed, tuple(entry["cautions"]))


def _kept(before: Path) -> dict[str, Any]:
    """What the folder's manifest tells of its kinds: those made with what is here now, their files still as written."""
    try:
        manifest = json.loads((before / MANIFEST).read_text("utf-8"))
        if manifest["made_with"] != made_with():
            return {}
        sums = {row["name"]: row["sha256"] for row in manifest["files"]}
        kinds = manifest["kinds"]
        return {name: entry for name, entry in kinds.items() if _as_written(before, entry["files"], sums)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):  # none, or edited: everything is made anew
        return {}


def _as_written(folder: Path, names: Sequence[str], sums: dict[str, str]) -> bool:
    return all(sha256((folder / name).read_bytes()).hexdigest() == sums[name] for name in names)
