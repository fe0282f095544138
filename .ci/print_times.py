"""Hold the parts lists' print times against a slicer: python .ci/print_times.py BUILDS.

BUILDS holds one folder for each bait, as ``bodygen build`` leaves it. The slicer prints by .ci/print.ini, with supports
where the parts list has some.
"""

import json
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

WITHIN = 0.40  # of the slicer's own estimate: printers and slicers differ by more
PROFILE = Path(__file__).with_name("print.ini")
SECONDS = {"d": 86400, "h": 3600, "m": 60, "s": 1}
PRINTS = re.compile(r"drill-block-belly|cradle-(belly|back)-up|mould right|half right|master|mask .* right")


def listed(build: Path) -> Iterator[tuple[Path, float, bool]]:
    """Each print of the parts list: its file, hours, whether it needs supports."""
    kinds = json.loads((build / "manifest.json").read_text(encoding="utf-8"))["kinds"]
    for line in (line for kind in kinds.values() for line in kind["listed"] if PRINTS.fullmatch(line["name"])):
        number, unit = line["time"].split()
        hours = float(number) / {"h": 1, "min": 60}[unit]
        yield build / f"{line['name'].replace(' ', '-')}.stl", hours, "supports" in line["amount"]


def sliced(path: Path, *, supports: bool) -> float:
    """Hours that the slicer reckons with."""
    slicer = shutil.which("prusa-slicer") or sys.exit("no prusa-slicer on this machine")
    words = ["--support-material"] if supports else []
    with tempfile.TemporaryDirectory() as folder:
        program = Path(folder) / "print.gcode"
        command = [slicer, "--load", str(PROFILE), *words, "--center", "110,110", "-g", "-o", str(program), str(path)]
        subprocess.run(command, capture_output=True, check=True, stdin=subprocess.DEVNULL)
        said = re.search(r"estimated printing time \(normal mode\) = (.*)", program.read_text(encoding="utf-8"))
    if said is None:
        sys.exit(f"{path}: the slicer names no time")
    return sum(int(n) * SECONDS[unit] for n, unit in re.findall(r"(\d+)([dhms])", said[1])) / 3600


def main(builds: Path) -> int:
    """Compare every print; 1 where any is too far off, or where there was nothing to compare."""
    off = []
    for build in sorted(path.parent for path in builds.glob("*/manifest.json")):
        for path, hours, supports in listed(build):
            slicer = sliced(path, supports=supports)
            off.append(abs(hours / slicer - 1))
            print(f"{build.name}/{path.name}: {hours:.2f} h listed, {slicer:.2f} h sliced", flush=True)
    print(f"{sum(o <= WITHIN for o in off)} of {len(off)} print times within {WITHIN:.0%} of the slicer's")
    return 0 if off and max(off) <= WITHIN else 1


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
