"""The words of the command that trims a floated bait. Computes nothing."""

from typing import Any

from bodygen.console.asked_recipe import RECIPE_HELP, recipe_path
from bodygen.console.completion import completes

Commands = Any
"""What argparse's ``add_subparsers`` returns; it has no public name."""


def add_trim(to: Commands) -> None:
    """Add ``trim``: from what was seen in the tub to what to do."""
    about = "what to do to a bait that was floated in the tub"
    trim = to.add_parser("trim", help=about, description=f"{about[0].upper()}{about[1:]}.")
    completes(trim.add_argument("recipe", type=recipe_path, metavar="RECIPE", help=RECIPE_HELP), "files")
    for name, word, what in (
        ("nose", "ANGLE", 'of the bait at rest, nose up positive, such as "8 deg"; of a minus write --nose="-3 deg"'),
        ("lean", "ANGLE", "how far it leans, right side up positive"),
        ("back-height", "LENGTH", "of the back above the water, at a place said by --at"),
        ("at", "X", "with --back-height: how far from the nose"),
        ("spare", "MASS", "spare weight that just takes it under; net, or dry with --spare-metal"),
    ):
        trim.add_argument(f"--{name}", metavar=word, help=what)
    metal = trim.add_argument("--spare-metal", metavar="METAL", help="the spare weight was dry, and of this metal")
    completes(metal, "metals")
    trim.add_argument("--rises", metavar='"DISTANCE in TIME"', help='let go under water, such as "300 mm in 4 s"')
    trim.add_argument("--sinks", metavar='"DISTANCE in TIME"', help="the same of one that sinks")
    trim.add_argument("--stage", metavar="STAGE", help="at which it was floated: ballast to rigged (default: rigged)")
    trim.add_argument("--water", metavar="TEMPERATURE", help="of the tub (default: [water])")
    trim.add_argument(
        "--weighed", action="append", default=[], metavar='"STAGE=MASS"', help='off your scale, such as "rigged=9.8 g"'
    )
    trim.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")
    trim.add_argument("--allow-outside", action="store_true", help="let the recipe name files outside its own folder")
