"""A line as a chain of stiff links on a bait that is drawn home: what the fit of retrieve.py is held against.

Only drag square to each wet link, from its own velocity, and at the bait b v^2 against its way and k b v^2 square to
it, downwards. Links of ``STIFFNESS`` with damping; every node has a little mass: ordinary
equations.
"""

import numpy as np
from scipy.integrate import solve_ivp

STIFFNESS, DAMPING, MASS = 400.0, 0.5, 0.004
"""Of a link: force at doubled length [N], its damper [N s/m]; mass of a node, a link's or the bait's [kg]."""
SPEED = 1.0


def run(down_over_drag, drag, cast, tip, links=12, bait_drag=0.3, samples=400):
    """Times [s] and depths [m] of the bait of a cast drawn home at 1 m/s, until a tenth of the line is left.

    ``drag`` is that of the whole line over the bait's (L of retrieve.py). The line lies straight at first.
    """
    k, b = down_over_drag, bait_drag
    per_metre = drag * 2 * b / cast / 2  # (rho/2) d c_n [N s^2/m^3]
    start = np.arcsin(tip / cast)
    along = np.arange(1, links + 1) / links * cast
    place = np.stack([along * np.cos(start), tip - along * np.sin(start)], axis=1)
    way = (
        np.tile([-SPEED * np.cos(start), SPEED * np.sin(start)], (links, 1))
        * (np.arange(1, links + 1) / links)[:, None]
    )

    def rates(t, state):
        place, way = state[: 2 * links].reshape(links, 2), state[2 * links :].reshape(links, 2)
        rest = (cast - SPEED * t) / links
        ends = np.vstack([[0.0, tip], place])
        moves = np.vstack([[0.0, 0.0], way])
        link, drift = np.diff(ends, axis=0), np.diff(moves, axis=0)
        long = np.linalg.norm(link, axis=1)
        unit = link / long[:, None]
        pull = STIFFNESS * (long / rest - 1) + DAMPING * (np.einsum("ij,ij->i", drift, unit) + SPEED / links)
        middle = (moves[1:] + moves[:-1]) / 2
        across = middle - np.einsum("ij,ij->i", middle, unit)[:, None] * unit
        top, low = np.maximum(ends[:-1, 1], ends[1:, 1]), np.minimum(ends[:-1, 1], ends[1:, 1])
        wet = np.clip(-low / np.maximum(top - low, 1e-9), 0.0, 1.0)
        load = -per_metre * (long * wet * np.linalg.norm(across, axis=1))[:, None] * across / 2
        force = load.copy()
        force[:-1] += load[1:]
        force -= pull[:, None] * unit
        force[:-1] += pull[1:, None] * unit[1:]
        v = way[-1]
        fast = np.hypot(*v)
        force[-1] += -b * fast * v + k * b * fast * np.array([-v[1], v[0]])
        return np.concatenate([way.ravel(), (force / MASS).ravel()])

    last = 0.9 * cast / SPEED
    solved = solve_ivp(
        rates, (0.0, last), np.concatenate([place.ravel(), way.ravel()]), "BDF", np.linspace(0.0, last, samples),
        rtol=1e-4, atol=1e-5,
    )  # fmt: skip
    assert solved.success
    return solved.t, -solved.y[2 * links - 1]
