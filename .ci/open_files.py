"""Open freshly built files in the programs of a shop: python .ci/open_files.py BUILDS CHECKS.

BUILDS holds one folder for each bait, as ``bodygen build`` leaves it; CHECKS the scripts that do the opening. Two files
are opened at a time; of a file that passes the closing line is shown, of one that fails everything.
"""

import json
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
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
                    # a template draws the body, a sheet of gauges the first card, which is there as a print too
                    template = path.stem.startswith("template")
                    width = body["length_mm"] if template else width_of(path.with_name("gauge-1.stl"))
                    words = ["check_pdf_scale.py", "--expect-mm", f"{width:.3f}", "--bar"]
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


def ask(question: tuple[Path, list[str]]) -> tuple[Path, int, str]:
    """One file's verdict."""
    path, command = question
    done = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    return path, done.returncode, done.stdout + done.stderr


def main(builds: Path, checks: Path) -> int:
    """Ask every question; 1 where any file fails, or where there was nothing to ask."""
    failed, asked = 0, 0
    with ThreadPoolExecutor(AT_A_TIME) as threads:
        for path, code, said in threads.map(ask, questions(builds, checks)):
            asked += 1
            failed += code != 0
            told = said.strip() if code else said.strip().splitlines()[-1]
            print(f"{path.parent.name}/{path.name}: {told}", flush=True)
    print(f"{asked - failed} of {asked} files open right")
    return 1 if failed or not asked else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
