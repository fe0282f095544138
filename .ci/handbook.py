"""Do the rooms that compute read like a handbook? As in: python .ci/handbook.py [--missing units|source|example].

Counted is each public function of the rooms below: at module level or in a public class, its name without a leading
underscore, properties too. Left out are those that compute no figure: all that their annotations name is in ``WORDS``
(texts, yes or no, findings, errors, paths, and containers of these), or they take no number and give a text or a yes or
no (a bore's name). Whole numbers, arrays and dataclasses of the project are figures, so a function that makes a body of
a recipe counts, and so does one that findings a recipe.

Of these functions, in the share that ``WANTED`` has,

units    the docstring names one in brackets: [mm], [-]
source   it has a section References, or says "derived here", "elementary", "common practice" or "from memory"
example  it has a line with >>>, which the tests run as a doctest

It prints the shares, and exits with 1 if one is below.
"""

import argparse
import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

HOUSE = Path(__file__).parents[1] / "bodygen"
ROOMS = ("form", "weights", "flotation", "ballast", "dive", "mesh")
WANTED = {"units": 0.97, "source": 0.60, "example": 0.40}
WORDS = frozenset(
    re.findall(
        r"\w+",
        "str bool None Finding InputError Severity PartKey Path "
        "Literal Any object dict list tuple set frozenset Sequence Iterable Iterator Mapping "
        "Callable Self Tip Units Side Entry Closed BoreKind DepthTo State Kind Start",
    )
)
TEXTS = frozenset({"str", "bool", "None", "Side", "Closed", "Literal", "InputError"})
NUMBERS = frozenset({"int", "float", "complex", "Array", "Faces", "NDArray", "Point3", "Vector"})
_UNIT = r"(?:-|%|[cm]?m|k?g|mg|N|s|ms|rad|deg|degC|px|K|Pa)"
SAYS = {
    "units": re.compile(rf"\[[^\[\]]*?(?<![\w.]){_UNIT}(?:\^\d)?(?:[ /*.,;)][^\[\]]*)?\]"),
    "source": re.compile(r"References\n\s*-{5,}|derived here|elementary|common practice|from memory", re.IGNORECASE),
    "example": re.compile(r"^\s*>>> ", re.MULTILINE),
}


def functions_in(body: list[ast.stmt], owner: str = "") -> Iterator[tuple[str, ast.FunctionDef]]:
    """Public functions by name, those of public classes as Class.name."""
    for node in body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from functions_in(node.body, f"{node.name}.")
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield owner + node.name, node


def names_in(annotation: ast.expr | None) -> set[str]:
    """What an annotation names, with what stands in quotes."""
    if annotation is None:
        return set()
    found: set[str] = set()
    for node in ast.walk(annotation):
        if isinstance(node, ast.Name):
            found.add(node.id)
        if isinstance(node, ast.Attribute):
            found.add(node.attr)
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            found |= {node.value} if node.value[:1].isupper() else set()  # a class to come, not a Literal's word
    return found


def computes(node: ast.FunctionDef) -> bool:
    """Whether it takes or gives a figure."""
    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs, node.args.vararg, node.args.kwarg]
    taken = {name for argument in every if argument for name in names_in(argument.annotation)}
    given = names_in(node.returns)
    return bool((taken | given) - WORDS) and not (given <= TEXTS and not taken & NUMBERS)


def main() -> int:
    """Count, print, and say whether it is enough."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--missing", choices=list(SAYS), help="print the functions without it")
    missing = parser.parse_args().missing
    counted: dict[str, list[str]] = {}
    for room in ROOMS:
        for path in sorted((HOUSE / room).rglob("*.py")):
            for name, node in functions_in(ast.parse(path.read_text(encoding="utf-8")).body):
                if computes(node):
                    place = f"{path.relative_to(HOUSE.parent)}:{node.lineno} {name}"
                    text = ast.get_docstring(node) or ""
                    prose = text.partition(">>> ")[0]  # a list in an example is no unit
                    seen = {"units": prose, "source": prose, "example": text}
                    counted[place] = [kind for kind, said in SAYS.items() if said.search(seen[kind])]
    if missing:
        print(*(place for place, said in counted.items() if missing not in said), sep="\n")
    shares = {kind: sum(kind in said for said in counted.values()) / len(counted) for kind in SAYS}
    for kind, share in shares.items():
        print(f"{kind:8} {share:6.1%} of {len(counted)} functions, wanted {WANTED[kind]:.0%}")
    return int(any(shares[kind] < WANTED[kind] for kind in SAYS))


if __name__ == "__main__":
    sys.exit(main())
