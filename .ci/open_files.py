"""Open freshly built files in the programs of a shop: python .ci/open_files.py BUILDS CHECKS.

BUILDS holds one folder for each bait, as ``bodygen build`` leaves it; CHECKS the scripts that do the opening. Two files
are opened at a time, and what several baits have alike, byte for byte, once. Of a file that passes the closing line is
shown, of one that fails everything; then the seconds that each kind took.
"""

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from hashlib import sha256
from pathlib import Path

import numpy as np

AT_A_TIME = 2
VOLUMES = {"body": "volume_cm3", "cut-body": "cut_volume_cm3"}  # file stem: its key in properties.json


def questions(builds: Path, checks: Path) -> Iterator[tuple[Path, list[str]]]:
    """Each file that a check exists for, with the command that asks."""
    for record in sorted(builds.glob("*/properties.json")):
        properties = json.loads(record.read_text(encoding="utf-8"))
        body = properties["body"]
        for path in sorted(record.parent.iterdir()):
            volume = ["--volume-cm3", str(body[VOLUMES[path.stem]])] if path.stem in VOLUMES else []
            match path.suffix:
                case ".stl":
                    words = ["check_stl.py", *volume]
                case ".step":
                    words = ["check_step.py", *volume, "--name", f"{properties['name']} {path.stem}"]
                case ".dxf":
                    words = ["check_dxf.py"]
                case ".pdf":
                    # a template draws the body, gauges and bench card the first card, which is there as a print too
                    width = (
                        body["length_mm"]
                        if path.stem.startswith("template")
                        else max(wire["cut_length_mm"] for wire in properties["wires"])  # the straight one, with marks
                        if path.stem.startswith("wire")
                        else width_of(path.with_name("gauge-1.stl"))
                    )
                    bars = [] if path.stem.startswith("bench-card") else ["--bar"]  # its first pages are to read
                    words = ["check_pdf_scale.py", "--expect-mm", f"{width:.3f}", *bars]
                case ".ngc" | ".nc" | ".gcode":
                    words = ["check_gcode.py"]  # which reads from the file itself how far it goes through
                case _:
                    continue
            script, *rest = words
            yield path, [sys.executable, str(checks / script), str(path), *rest, "--need-clients"]


def width_of(stl: Path) -> float:
    """Extent of a binary STL along x [mm]."""
    facet = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    return float(np.ptp(np.frombuffer(stl.read_bytes(), facet, offset=84)["corners"][..., 0]))


def asked_once(asked: Iterator[tuple[Path, list[str]]]) -> Iterator[tuple[Path, list[str]]]:
    """Leave out what is like an earlier file, byte for byte, and asked the same."""
    known = set()
    for path, command in asked:
        key = sha256(path.read_bytes()).hexdigest(), *(word for word in command if word != str(path))
        if key not in known:
            known.add(key)
            yield path, command


def ask(question: tuple[Path, list[str]]) -> tuple[Path, int, str, float]:
    """One file's verdict, and the seconds that it took."""
    path, command = question
    began = time.monotonic()
    done = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    return path, done.returncode, done.stdout + done.stderr, time.monotonic() - began


def main(builds: Path, checks: Path) -> int:
    """Ask every question; 1 where any file fails, or where there was nothing to ask."""
    failed: list[Path] = []
    seconds: dict[str, list[float]] = {}
    with ThreadPoolExecutor(AT_A_TIME) as threads:
        for path, code, said, took in threads.map(ask, asked_once(questions(builds, checks))):
            seconds.setdefault(path.suffix, []).append(took)
            if code:
                failed.append(path)
            told = said.strip() if code else said.strip().splitlines()[-1]
            print(f"{path.parent.name}/{path.name}: {told}", flush=True)
    for suffix, each in sorted(seconds.items()):
        print(f"{suffix:6s} {len(each):4d} files, {sum(each):5.0f} s, two at a time")
    asked = sum(map(len, seconds.values()))
    print(*(f"FAILED: {path.parent.name}/{path.name}" for path in failed), sep="\n")
    print(f"{asked - len(failed)} of {asked} files open right")
    return 1 if failed or not asked else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
