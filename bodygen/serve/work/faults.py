"""A fault of our own, said in one line on stderr and only a few times: a pipe that nobody reads must not fill."""

import sys
from itertools import count

MOST_TOLD = 20
_number = count(1)


def tell_fault(error: BaseException) -> str:
    """Say which it was and where, and return the sentence for the page."""
    at = error.__traceback__
    while at is not None and at.tb_next is not None:
        at = at.tb_next
    where = f" ({at.tb_frame.f_code.co_filename.rpartition('/')[2]}:{at.tb_lineno})" if at else ""
    sentence = f"a fault of bodygen's own: {type(error).__name__}{where}"
    if next(_number) <= MOST_TOLD:
        sys.stderr.write(f"{sentence}\n")
        sys.stderr.flush()
    return sentence
