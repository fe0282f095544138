"""A router job as a picture: plan of all moves, cuts coloured by depth, rapids dashed, stock and clamps behind them.

Knows how to draw moves. Works nothing out (shop/mill/job.py does).
"""

from io import BytesIO

import numpy as np

from bodygen.shop.mill.job import Job, spans
from bodygen.version import VERSION

_SAG_MM = 0.02
_WIDE_IN = 9.0
_DOTS = 150


def router_png(job: Job) -> bytes:
    """Draw a job from above as a PNG; the same job gives the same bytes."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg  # 0.3 s to load, for pictures alone
    from matplotlib.collections import LineCollection
    from matplotlib.figure import Figure
    from matplotlib.patches import Polygon, Rectangle

    stock, feeds = job.stock, job.machining.feeds
    tall = min(max(_WIDE_IN * 0.86 * stock.width / stock.length + 1.6, 3.0), 14.0)
    figure = Figure(figsize=(_WIDE_IN, tall), dpi=_DOTS, layout="constrained")
    canvas = FigureCanvasAgg(figure)
    plan = figure.add_subplot()
    sheet = stock.corners or ((0, 0), (stock.length, 0), (stock.length, stock.width), (0, stock.width))
    plan.add_patch(Polygon(sheet, closed=True, facecolor="#f3ead8", edgecolor="black", linewidth=0.8))
    for number, (x0, y0, x1, y1) in enumerate(stock.clamps):
        label = "clamps: keep out" if number == 0 else None
        style = {"facecolor": "none", "edgecolor": "firebrick", "hatch": "///", "linewidth": 0.6}
        plan.add_patch(Rectangle((x0, y0), x1 - x0, y1 - y0, label=label, **style))  # type: ignore[arg-type]  # a dict of mixed values
    cuts, depths, rapids = [], [], []
    for span in spans(job.moves):
        points = np.array(span.points(_SAG_MM))
        if span.move.kind == "rapid":
            rapids.append(points[:, :2])
        else:
            cuts.append(np.stack([points[:-1, :2], points[1:, :2]], axis=1))
            depths.append(np.minimum(points[:-1, 2], points[1:, 2]))
    plan.add_collection(
        LineCollection(rapids, colors="0.45", linestyles="dashed", linewidths=0.5, label="rapids, in the air")
    )
    low = min(job.lowest, -1e-3)
    deep = np.concatenate(depths)
    order = np.argsort(-deep, kind="stable")  # the deepest on top
    colours = LineCollection(
        list(np.concatenate(cuts)[order]), array=np.maximum(-deep[order], 0.0), cmap="viridis_r", linewidths=0.7
    )
    colours.set_clim(0.0, -low)
    plan.add_collection(colours)
    figure.colorbar(colours, ax=plan, label="depth below the stock's top [mm]", shrink=0.8)
    plan.plot(0, 0, marker="+", markersize=12, color="black", clip_on=False, linestyle="none", label="X0 Y0")
    plan.set_aspect("equal")
    margin = 0.03 * stock.length + job.cutter.radius
    plan.set_xlim(-margin, stock.length + margin)
    plan.set_ylim(-margin, stock.width + margin)
    plan.set_xlabel("X [mm]")
    plan.set_ylabel("Y [mm]")
    plan.legend(loc="upper center", bbox_to_anchor=(0.5, -0.18 * 4.0 / tall), ncols=3, fontsize=7, frameon=False)
    plan.set_title(
        f"{job.name}: {job.purpose}\n{job.cutter.name}, {feeds.speed:g} 1/min, {feeds.feed:.0f} mm/min; "
        f"about {job.minutes:.1f} min, changes of speed not counted",
        fontsize=9,
    )
    file = BytesIO()
    canvas.print_png(file, metadata={"Software": f"bodygen {VERSION}"})  # type: ignore[no-untyped-call]  # matplotlib's canvases carry no types
    return file.getvalue()
