"""`--host`: from another machine the page is there for who knows the address, and for nobody else."""

import http.client

import pytest
from amount import only_with_more
from tab import own_address, served

HERE = own_address()


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    if HERE is None:
        pytest.skip("this machine has no address but its own loopback")
    folder = tmp_path_factory.mktemp("other") / "folder"
    folder.mkdir()
    opened = served(folder, "--host", HERE)
    yield opened
    opened.process.kill()
    _, told = opened.process.communicate()
    lines = told.splitlines()
    assert f"anyone who can reach {HERE} and knows this address can read and change the recipes in" in lines[1]
    assert lines[2].startswith("what passes is not encrypted")
    assert len(lines) == 3


def test_it_answers_at_the_address_that_it_prints_and_at_no_other(page):
    assert page.address.startswith(f"http://{HERE}:")
    assert page.get("shelf").status == 200
    with pytest.raises(ConnectionRefusedError):
        http.client.HTTPConnection(f"127.0.0.1:{page.host.rpartition(':')[2]}", timeout=5).request("GET", page.below)


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"origin": "http://{0}"}, 200),
        ({"host": "localhost:{1}"}, 403),
        ({"host": "127.0.0.1:{1}"}, 403),
        ({"host": "evil.example"}, 403),
        ({"host": "evil.example:{1}"}, 403),
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "http://localhost:{1}"}, 403),
        ({"origin": "https://{0}"}, 403),
        ({"origin": "null"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"sec-fetch-site": "same-site"}, 403),
    ],
)
def test_only_its_own_page_may_ask_from_there(page, headers, status):
    port = page.host.rpartition(":")[2]
    reply = page.get("shelf", {name: value.format(page.host, port) for name, value in headers.items()})
    assert reply.status == status
    assert (reply.content == b"") == (status == 403)


@only_with_more
def test_who_listens_everywhere_answers_at_each_of_its_addresses_and_to_no_name(tmp_path):
    (tmp_path / "folder").mkdir()
    opened = served(tmp_path / "folder", "--host", "0.0.0.0")  # noqa: S104  as a maker may
    port = opened.host.rpartition(":")[2]
    opened.host = f"{HERE or '127.0.0.1'}:{port}"
    found = [
        opened.get("shelf", headers).status for headers in ({}, {"host": f"localhost:{port}"}, {"host": "evil.example"})
    ]
    opened.process.kill()
    _, told = opened.process.communicate()
    assert found == [200, 403, 403]
    assert "on another machine write this one's own address in place of 0.0.0.0" in told


def test_without_the_token_there_is_nothing_there_either(page):
    for path in ("/", "/shelf", page.below[:-2] + "/shelf", page.below[:-2] + "x/shelf"):
        assert (page.send("GET", path).status, page.send("GET", path).content) == (404, b"")
