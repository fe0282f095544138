"""``[shape]``: one body, by parameters, by stations, or as a mesh."""

from hashlib import sha256

from bodygen import tables
from bodygen.recipe.model import Curve, End, FlatSide, MeshFile, Parameters, Stations
from bodygen.recipe.readers.curves import HALF_WIDTH, HEIGHT, WIDEST, outline, spanning, squareness
from bodygen.recipe.readers.stations import read_stations
from bodygen.recipe.text.files import LARGEST_MESH, named_file
from bodygen.recipe.text.read_context import ReadContext, Values

MESH_ENDINGS = (".stl", ".obj", ".3mf", ".ply")
LINES = {"back": HEIGHT, "belly": HEIGHT, "plan": HALF_WIDTH}
INCH_MM = 25.4


def read_shape(ctx: ReadContext, values: Values) -> Parameters | Stations | MeshFile | None:
    """Make the body's description of ``[shape]``; None where a mistake stands in the way."""
    whole = [way for way in ("stations", "mesh") if way in values]
    for key in values:
        if whole and key != whole[0]:
            problem = f"does not go with shape.{whole[0]}, which is the whole body already."
            ctx.fault(f"shape.{key}", problem, "exactly one of: the parameters, stations, mesh")
    if "stations" in values:
        return read_stations(ctx, "shape.stations", values["stations"])
    if "mesh" in values:
        return _mesh(ctx, values["mesh"])
    return _parameters(ctx, values)


def _mesh(ctx: ReadContext, name: str) -> MeshFile | None:
    path = named_file(ctx, "shape.mesh", name, MESH_ENDINGS, LARGEST_MESH)
    if path is None:
        return None
    try:
        content = path.read_bytes()
    except OSError as error:
        ctx.fault("shape.mesh", f"cannot be read: {error.strerror}.", "a file that may be read")
        return None
    return MeshFile(path, INCH_MM if ctx.units == "in" else 1.0, sha256(content).hexdigest())


def _parameters(ctx: ReadContext, values: Values) -> Parameters | None:
    length = values.get("length")
    if length is None and "shape.length" not in ctx.written:
        ctx.missing("shape.length", "the body's length; or stations = a CSV file; or mesh = a mesh file")
    default = tables.load("outlines")["default"]
    lines: dict[str, Curve | None] = {
        key: outline(ctx, f"shape.{key}", values.get(key, default[key]), length, kinds) for key, kinds in LINES.items()
    }
    back, belly, plan = lines["back"], lines["belly"], lines["plan"]
    if "shape.depth" not in ctx.written and any(line is not None and line.fractions for line in (back, belly)):
        ctx.missing("shape.depth", "the greatest depth, back to belly; only back and belly in lengths do without")
    if "shape.thickness" not in ctx.written and plan is not None and plan.fractions:
        ctx.missing("shape.thickness", "the greatest thickness, side to side; only a plan in lengths does without")
    widest = spanning(ctx, "shape.widest", values["widest"], length, WIDEST) if "widest" in values else None
    square = squareness(ctx, "shape.squareness", values.get("squareness", 2.0), length)
    flat = values.get("flat_side")
    if flat == {} and not any(mistake.key.startswith("shape.flat_side") for mistake in ctx.mistakes):
        ctx.fault("shape.flat_side", "says nothing.", "height, edge_radius or both")
    if back is None or belly is None or plan is None or square is None or length is None or ctx.mistakes:
        return None
    return Parameters(
        length=length,
        depth=values.get("depth"),
        thickness=values.get("thickness"),
        back=back,
        belly=belly,
        plan=plan,
        back_share=values.get("back_share", 0.5),
        widest=widest,
        squareness_back=square[0],
        squareness_belly=square[1],
        nose=End(**values.get("nose", {})),
        tail=End(**values.get("tail", {})),
        flat_side=FlatSide(**flat) if flat is not None else None,
    )
