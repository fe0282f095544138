"""Thirteen views of a real camera: a wide lens that bends lines, its centre off the picture's, leant 15 to 41 degrees.

The figures are those published with OpenCV's sample data (``left_intrinsics.yml``, Apache-2.0): of the pictures
``left01.jpg`` to ``left14.jpg`` (there is no tenth) of a board of 10 by 7 squares. Nobody says how large these are;
taken as 30 mm, the board is as large as the page, which lies in its place. The pictures themselves are no part of this
project: where ``BODYGEN_VIEWS`` names a folder with them (Debian's ``opencv-doc`` has them, under ``examples/data``),
page and bait are laid into the pictures, in the light of their squares; else on a plain table.
"""

import os
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pinhole

SIZE, FINER = (640, 480), 3
"""Of the pictures [px]; how much finer they are drawn: a marker of 14 mm has 19 px in them, too few to read."""
SQUARE_MM = 30.0
FOCAL, CENTRE = 535.91573396163199, (342.28315473308373, 235.57082909788173)
LENS = np.array([
    -0.26637260909660682,
    -0.038588898922304653,
    0.0017831947042852964,
    -0.00028122100441115472,
    0.23839153,
])
"""Of OpenCV's model: k1, k2, p1, p2, k3."""
TURNS_AND_SHIFTS = """
 0.168666731  0.275671954  0.013463667 -0.075217911 -0.108959439  0.399702069
 0.413312877  0.649890156 -1.337153796 -0.058571677  0.082925806  0.353810148
-0.277036950  0.186933093  0.354852253 -0.039846501 -0.100416111  0.318159470
-0.110906157  0.239659708 -0.002113564 -0.098410655 -0.067330011  0.330850372
-0.291869149  0.428388245  1.312737645  0.058492718 -0.115317026  0.317185972
 0.407757470  0.303727497  1.649054038  0.167270778 -0.065571044  0.336461312
 0.179335043  0.345589841  1.868529242  0.019533409 -0.071821904  0.389429371
-0.090969164  0.479785998  1.753405402  0.079050418 -0.087941963  0.316660770
 0.202979322 -0.423920776  0.132413279 -0.066346242 -0.081019306  0.278302245
-0.419057316 -0.499692845  1.335578718  0.046902735 -0.111006261  0.338056305
-0.238531785  0.347857244  1.530765593  0.050764487 -0.102597070  0.322201313
 0.463956637 -0.283470190  1.238566224  0.033699310 -0.091617248  0.291446148
-0.169978483 -0.471169039  1.345994225  0.045015523 -0.108178572  0.312437672
"""
"""Of each view: turn (a rotation's vector) and shift [m, of 25 mm squares] of the board from its first inner corner."""
VIEWS = np.array([[float(v) for v in row.split()] for row in TURNS_AND_SHIFTS.strip().splitlines()])
NAMES = tuple(f"left{n:02d}" for n in (1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14))
FOLDER = os.environ.get("BODYGEN_VIEWS")


def spin_of(number):
    """How a bait is turned on the page [deg] so that it lies about level in a view, its nose to the left."""
    across = cv2.Rodrigues(VIEWS[number, :3])[0][:, 0]
    return float(np.degrees(np.arctan2(across[1], across[0])))


def photograph(number, body, shot):
    """The picture (h, w, 3) uint8 of a bait on the page in one of the views, by its camera and its lens."""
    turn, shift = _pose(number)
    wide, high = (FINER * v for v in SIZE)
    corners = np.array([[0, 0, 0], [297, 0, 0], [297, 210, 0], [0, 210, 0.0]]) @ turn.T + shift
    flat = corners[:, :2] / corners[:, 2:] * FINER * FOCAL
    low = flat.min(axis=0) - 20
    straight = np.array([[FINER * FOCAL, 0, -low[0]], [0, FINER * FOCAL, -low[1]], [0, 0, 1]])
    size = tuple(int(v) for v in np.ptp(flat, axis=0) + 40)
    page = pinhole.photograph(body, replace(shot, size=size, noise=0.0), camera=(straight, turn, shift))
    mask = np.zeros(size[::-1], np.uint8)
    cv2.fillConvexPoly(mask, np.round((flat - low) * 16).astype(np.int32), 255, cv2.LINE_AA, shift=4)
    y, x = np.mgrid[0:high, 0:wide].astype(np.float32)
    pixels = np.stack([x.ravel(), y.ravel()], axis=1)[:, None]
    rays = cv2.undistortPoints(pixels, _matrix((wide, high)), LENS).reshape(high, wide, 2)
    at = (rays * (FINER * FOCAL) - low).astype(np.float32)
    printed = cv2.remap(page, at[..., 0], at[..., 1], cv2.INTER_CUBIC)
    share = cv2.remap(mask, at[..., 0], at[..., 1], cv2.INTER_LINEAR)[..., None] / 255.0
    behind, light = _behind(number, (wide, high))
    out = share * printed * light[..., None] ** (1 / 2.2) + (1 - share) * behind
    out += np.random.default_rng(shot.seed).normal(0, shot.noise, out.shape)
    return np.clip(out, 0, 255).astype(np.uint8)


def _pose(number):
    """Turn (3, 3) and shift (3,) [mm] from the page, whose middle is the board's, to the camera."""
    board = cv2.Rodrigues(VIEWS[number, :3])[0]
    shift = VIEWS[number, 3:] / 0.025 * SQUARE_MM
    middle = np.array([4, 2.5, 0]) * SQUARE_MM
    turn = board @ np.diag([1.0, -1.0, -1.0])
    return turn, shift + board @ middle - turn @ np.array([297 / 2, 210 / 2, 0])


def _matrix(size):
    share = size[0] / SIZE[0]
    centre = (np.array(CENTRE) + 0.5) * share - 0.5
    return np.array([[share * FOCAL, 0, centre[0]], [0, share * FOCAL, centre[1]], [0, 0, 1]])


def _behind(number, size):
    """What is behind the page (h, w, 3) [0 to 255], and the light on the page (h, w) [-]: of the view's own squares."""
    y, x = np.mgrid[0 : size[1], 0 : size[0]]
    u, v = 2 * x / size[0] - 1, 2 * y / size[1] - 1
    if FOLDER is None:
        return np.full((*u.shape, 3), (95.0, 80.0, 62.0)), 0.85 + 0.12 * u - 0.1 * v
    picture = cv2.imread(str(Path(FOLDER) / f"{NAMES[number]}.jpg"))
    squares = np.array([(i, j, 0) for i in np.arange(8) + 0.5 for j in np.arange(5) + 0.5]) * 0.025
    found, _ = cv2.projectPoints(squares, VIEWS[number, :3], VIEWS[number, 3:], _matrix(SIZE), LENS)
    at = found.astype(np.float32)
    grey = cv2.remap(cv2.GaussianBlur(picture[..., 1], (0, 0), 2), at[..., 0], at[..., 1], cv2.INTER_LINEAR).ravel()
    white = grey > np.median(grey)
    places = 2 * (at.reshape(-1, 2)[white] + 0.5) / SIZE - 1
    terms = np.column_stack([np.ones(len(places)), places])
    a, b, c = np.linalg.lstsq(terms, (grey[white] / 255.0) ** 2.2, rcond=None)[0]
    large = cv2.resize(picture, size, interpolation=cv2.INTER_CUBIC)[..., ::-1]
    return large.astype(float), np.clip(a + b * u + c * v, 0.1, 1.1)
