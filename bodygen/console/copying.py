"""The words of the commands that copy a bait: ``trace`` and its ways. Computes nothing."""

import argparse
from pathlib import Path
from typing import Any

from bodygen.console.asked_recipe import recipe_path
from bodygen.console.completion import completes

PAPERS = ("a4", "letter")
Commands = Any
"""What argparse's ``add_subparsers`` returns; it has no public name."""


def joined(words: list[str]) -> list[str]:
    """The words of a command line, ``--nose -x`` as one word: argparse would take ``-x`` for an option.

    Examples
    --------
    >>> joined(["scan", "a.stl", "--nose", "-x", "--back", "+z"])
    ['scan', 'a.stl', '--nose=-x', '--back', '+z']
    """
    some: list[str] = []
    for word in words:
        if word in {"-x", "-z"} and some and some[-1] in {"--nose", "--back"}:
            some[-1] += f"={word}"
        else:
            some.append(word)
    return some


def add_trace(to: Commands) -> None:
    """Add ``trace`` with one sub-command for each way of measuring a bait."""
    trace = to.add_parser(
        "trace",
        help="make a recipe of a bait that is there: from readings of callipers, from a scan, from photographs",
        description="Make a recipe of a bait that is there: NAME.toml, with the fit as NAME-fit.svg and NAME-fit.png.",
    )
    ways = trace.add_subparsers(dest="way", required=True, metavar="WAY")
    _stations(ways)
    _scan(ways)
    _page(ways)
    _photo(ways)


def add_scale(to: Commands) -> None:
    """Add ``scale``: a recipe in other sizes."""
    about = "make a recipe of another size, or a family of several"
    scale = to.add_parser(
        "scale", help=about, description=f"{about[0].upper()}{about[1:]}; what is bought does not grow."
    )
    completes(
        scale.add_argument("recipe", type=recipe_path, metavar="RECIPE", help="to scale, or the code on its card"),
        "files",
    )
    scale.add_argument("--name", required=True, metavar="NAME", help="name of the copy, or of the family")
    scale.add_argument(
        "--length",
        required=True,
        nargs="+",
        metavar="LENGTH",
        help='of the copy, such as "4 in"; several make a family',
    )
    scale.add_argument("--depth", metavar="LENGTH", help="of the copy, where it is not to grow with the length")
    scale.add_argument("--thickness", metavar="LENGTH", help="of the copy, where it is not to grow with the length")
    scale.add_argument(
        "--keep",
        nargs="+",
        default=[],
        choices=("reserve", "share", "pitch"),
        help="of the float: the ballast is solved anew for the same lift, the same share of it, the same nose angle",
    )
    scale.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")


def add_compare(to: Commands) -> None:
    """Add ``compare``: two baits over each other, or several copies over what was meant."""
    about = "how far a bait is from another, or copies from what was meant"
    compare = to.add_parser("compare", help=about, description=f"{about[0].upper()}{about[1:]}, and where.")
    first = compare.add_argument(
        "meant", type=Path, metavar="A", help="what was meant: a recipe, a mesh, readings (CSV)"
    )
    others = compare.add_argument("copies", type=Path, nargs="+", metavar="B", help="the copy, or several of them")
    for argument in (first, others):
        completes(argument, "files")
    compare.add_argument(
        "--within", metavar="LENGTH", help='exit code 1 where they are farther apart, such as "0.5 mm"'
    )
    compare.add_argument("--units", choices=("mm", "in"), default="mm", help="units of a mesh that says none")
    compare.add_argument(
        "--picture", metavar="NAME", help="write the overlay as NAME.svg and NAME.png; of several, one each"
    )
    compare.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")


def _stations(ways: Commands) -> None:
    about = "from readings of callipers: a CSV file with the header of stations, in any order, cells left empty"
    stations = traced(ways, "stations", "READINGS", "the table of readings (CSV)", about)
    stations.add_argument("--units", choices=("mm", "in"), help="units of the recipe (default: those of the readings)")
    stations.add_argument(
        "--smooth", metavar="LENGTH", help='waves shorter than this are the hand\'s, such as "20 mm" (default: as read)'
    )


def _scan(ways: Commands) -> None:
    about = "from a scan: an STL, OBJ, PLY or 3MF file in any pose, open or closed, with or without hooks and lip"
    scan = traced(ways, "scan", "MESH", "the scan", about)
    scan.add_argument(
        "--units", choices=("auto", "mm", "in", "cm", "m"), default="auto",
        help="what the scan's numbers are (default: auto, by its length; a 3MF says it itself)",
    )  # fmt: skip
    scan.add_argument("--nose", choices=("+x", "-x"), help="where in the file the nose points (default: as found)")
    scan.add_argument("--back", choices=("+z", "-z"), help="where in the file the back points (default: as found)")


def _page(ways: Commands) -> None:
    about = "print a page to photograph a bait on: trace-page-a4.pdf"
    page: argparse.ArgumentParser = ways.add_parser("page", help=about, description=f"{about[0].upper()}{about[1:]}.")
    page.add_argument("--paper", choices=PAPERS, default=PAPERS[0], help="paper of the page (default: a4)")


def _photo(ways: Commands) -> None:
    about = "from a photograph of its side, on the page of `trace page` or with a ruler beside it"
    photo = traced(ways, "photo", "SIDE", "the picture of its side, nose to the left", about)
    top = photo.add_argument("--top", type=Path, metavar="TOP", help="a picture from above, standing on the same page")
    scale = photo.add_mutually_exclusive_group(required=True)
    scale.add_argument("--page", choices=PAPERS, help="it lies on this page")
    scale.add_argument(
        "--span", metavar="X1,Y1,X2,Y2=LENGTH", help="these two pixels, from the top left, are so far apart"
    )
    photo.add_argument("--thickness", metavar="LENGTH", help="greatest thickness of the bait, by callipers")
    photo.add_argument("--nose", choices=("left", "right"), help="where the nose is (default: left)")
    mask = photo.add_argument(
        "--mask",
        type=Path,
        metavar="PNG",
        help="strokes, as large as SIDE, over what is no bait; black or clear elsewhere",
    )
    photo.add_argument("--units", choices=("mm", "in"), help="units of the recipe (default: mm)")
    for argument in (top, mask):
        completes(argument, "files")


def traced(ways: Commands, name: str, file: str, about_file: str, about: str) -> argparse.ArgumentParser:
    """Add one way of tracing, with the options that all of them have."""
    way: argparse.ArgumentParser = ways.add_parser(name, help=about, description=f"{about[0].upper()}{about[1:]}.")
    completes(way.add_argument("file", type=Path, metavar=file, help=about_file), "files")
    way.add_argument("--name", required=True, metavar="NAME", help="name of the copy; its files are named after it")
    way.add_argument("--bare", action="store_true", help="the skin had no coats: do not take their film off")
    way.add_argument("--mass", metavar="MASS", help='what the original weighs, such as "14 g", for [goal]')
    way.add_argument("--pitch", metavar="ANGLE", help='how it floats, nose up (+), such as "6 deg", for [goal]')
    way.add_argument("--json", action="store_true", help="one JSON document on stdout, nothing else")
    return way
