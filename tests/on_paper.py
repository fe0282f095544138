"""A PDF read back: its words with their boxes, and what is wrong with how they lie."""

from dataclasses import dataclass

import numpy as np
import pdfplumber

TOUCH_PT = 0.2
"""The reader's boxes are as high as the font: ones that touch by less overlap by rounding."""
SMALLEST_PT = 9.0


@dataclass
class Printed:
    """One page as it is read back: words with their boxes, letters with their sizes, frames, all of its text."""

    size: tuple
    words: list
    chars: list
    rects: list
    text: str


def read_back(file):
    """Read every page of a PDF."""
    made = []
    with pdfplumber.open(file) as pdf:
        for page in pdf.pages:
            words = page.extract_words(keep_blank_chars=True, x_tolerance=2.0, y_tolerance=1.0, extra_attrs=["size"])
            chars = [(char["size"], char["text"]) for char in page.chars]
            text = " ".join(" ".join(word["text"] for word in words).split())
            made.append(Printed((page.width, page.height), words, chars, page.rects, text))
    return made


def faults(page, *, boxed=True):
    """Words off the page, over each other, too small, or, where frames are boxes to write in, in one."""
    words, (width, height) = page.words, page.size
    found = [word["text"] for word in words if word["size"] < SMALLEST_PT - 0.01]
    boxes = np.array([(w["x0"], w["top"], w["x1"], w["bottom"]) for w in words])
    inside = (boxes[:, :2] >= 0).all(axis=1) & (boxes[:, 2] <= width) & (boxes[:, 3] <= height)
    found += [f"off the page: {words[i]['text']}" for i in np.flatnonzero(~inside)]
    wide = np.minimum(boxes[:, None, 2], boxes[None, :, 2]) - np.maximum(boxes[:, None, 0], boxes[None, :, 0])
    tall = np.minimum(boxes[:, None, 3], boxes[None, :, 3]) - np.maximum(boxes[:, None, 1], boxes[None, :, 1])
    over = np.argwhere(np.triu((wide > TOUCH_PT) & (tall > TOUCH_PT), 1))
    found += [f"{words[i]['text']} over {words[j]['text']}" for i, j in over]
    for frame in page.rects if boxed else ():
        x0, top, x1, low = (frame[key] for key in ("x0", "top", "x1", "bottom"))
        meets = (boxes[:, 2] > x0) & (boxes[:, 0] < x1) & (boxes[:, 3] > top) & (boxes[:, 1] < low)
        found += [f"in a box to write in: {words[i]['text']}" for i in np.flatnonzero(meets)]
    return found
