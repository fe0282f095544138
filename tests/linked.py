"""A page that a double click opens, read back: its tags, and what it links to."""

from html.parser import HTMLParser
from urllib.parse import unquote


class Links(HTMLParser):
    """Every tag with its attributes."""

    def __init__(self, page):
        super().__init__()
        self.tags = []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def all(self, tag, attribute):
        return [attrs[attribute] for name, attrs in self.tags if name == tag and attribute in attrs]

    @property
    def files(self):
        """Names of the files that are linked."""
        return {unquote(link) for link in self.all("a", "href") if not link.startswith("#")}
