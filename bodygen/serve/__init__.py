"""The page on the bench: a small server on this machine, whose page shows a bait and its figures while it is changed.

Server and page compute nothing: they are views of what ``pipeline`` works out.
"""
