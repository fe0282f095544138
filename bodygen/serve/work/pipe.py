"""What passes through the pipe of a working process: a message as JSON, then progress, then a status and bytes."""

Reply = tuple[int, bytes]
PROGRESS = (102).to_bytes(2, "little")
"""The status of what is not the answer yet."""


def framed(status: int, body: bytes) -> bytes:
    """An answer as it is sent.

    >>> taken_apart(framed(200, b"told"))
    (200, b'told')
    """
    return status.to_bytes(2, "little") + body


def taken_apart(answer: bytes) -> Reply:
    """Status and body of what was sent."""
    return int.from_bytes(answer[:2], "little"), answer[2:]
