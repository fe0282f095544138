"""What a command loads: weighing must start at once, so nothing heavy may be on its way."""

import subprocess
import sys
from pathlib import Path

import pytest

from bodygen.extras import EXTRAS

DEMO = Path(__file__).parent.parent / "params" / "tarn-perch-70.toml"
HEAVY = (*sorted({m for modules in EXTRAS.values() for m in modules}), "scipy", "trimesh", "tomlkit", "shtab", "gsw")
NEEDLESS = ("numpy.ma", "statistics", "bodygen.log", "bodygen.mesh.file")
"""A drawn bait with no log has no use for these, and to load them is a tenth of its weighing."""
LOOK = """
import contextlib, io, sys
from bodygen.cli import main
with contextlib.redirect_stdout(io.StringIO()):
    code = main(sys.argv[2:])
assert code == 0, code
print(" ".join(name for name in sys.argv[1].split(",") if name in sys.modules))
"""


def test_the_door_opens_without_loading_anything():
    """``import bodygen`` alone brings no library, not even the reader of a recipe; one name brings what it needs."""
    code = "import sys, bodygen; a = set(sys.modules); bodygen.read_recipe; print(*a, '|', *set(sys.modules) - a)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    at_first, later = (part.split() for part in done.stdout.split("|"))
    assert {name for name in at_first if name.startswith("bodygen")} == {"bodygen", "bodygen.version"}
    assert not {"numpy", "manifold3d", *HEAVY} & {*at_first}
    assert "bodygen.recipe.read" in later
    assert not {"numpy", "manifold3d", *HEAVY} & {*later}


@pytest.mark.parametrize(
    "command", [["weigh", str(DEMO)], ["check", str(DEMO)], ["explain", "depth"]], ids=lambda words: words[0]
)
def test_weighing_and_explaining_in_a_new_process_load_nothing_heavy(command):
    """import-linter cannot tell, as it counts imports inside functions too; so look at what is there afterwards."""
    words = [sys.executable, "-c", LOOK, ",".join([*HEAVY, *NEEDLESS]), *command, "--json"]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stdout.split(), done.stderr) == (0, [], "")
