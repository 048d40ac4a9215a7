"""What the gate refuses, and what the page cannot be made to do from elsewhere."""

import pytest

from pushproof.errors import ConfigurationError
from pushproof.sources.rehearsal.export import export_text
from pushproof.testing import sample
from pushproof.web.access import Access, Role, access_for
from pushproof.web.site import Site


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("site")
    export_text(sample("clay-over-sand"), path / "HM-1.csv")
    export_text(sample("refusal"), path / "HM-2.csv")
    (path / "torn.gef").write_text("#GEFID = 1,1,0\n#EOH=\n1 2\n")
    (path.parent / "secret.csv").write_text("a,b\n1,2\n")
    return path


def test_soundings_and_unread_files_are_listed(serve, folder):
    document = serve(folder).client().get("/api/site").json()
    assert [one["name"] for one in document["soundings"]] == ["HM-1", "HM-2"]
    assert [one["file"] for one in document["unread"]] == ["torn.gef"]
    assert str(folder) not in str(document)


def test_every_answer_carries_the_policy(serve, folder):
    client = serve(folder).client()
    for path in ("/", "/static/shell.js", "/api/site", "/api/nothing", "/fonts/B612-Bold.otf"):
        answer = client.get(path)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["x-frame-options"] == "DENY"
        assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:80", "127.0.0.1.evil.example", "", "10.0.0.7"]
)
def test_a_foreign_host_is_refused(serve, folder, host):
    served = serve(folder)
    assert served.client().get("/api/site", headers={"host": host}).status_code in (400, 421)


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:1"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_page_of_another_site_cannot_steer(serve, folder, headers):
    answer = serve(folder).client().post("/api/logout", headers=headers)
    assert answer.status_code == 403
    assert "another site" in answer.json()["error"]


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e%2f%2e%2e%2fequations/registry.py",
        "/fonts/..%2ffacts.py",
        "/static/....//app.py",
        "/static/%5c..%5capp.py",
        "//etc/passwd",
        "/static//etc/passwd",
    ],
)
def test_no_path_leads_out(serve, folder, path):
    import socket

    served = serve(folder)
    with socket.create_connection(("127.0.0.1", served.port), 5) as link:
        link.sendall(
            f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n".encode()
        )
        answer = b""
        while part := link.recv(65536):
            answer += part
    assert answer.split(b" ", 2)[1] in (b"404", b"400", b"405")
    assert b"import" not in answer
    assert b"root:" not in answer


def test_a_body_beyond_its_bound_is_refused_with_and_without_its_length(serve, folder):
    served = serve(folder)
    client = served.client()
    large = b"x" * 1_100_000
    assert client.post("/api/login", content=large).status_code == 413
    told = client.post("/api/login", content=iter([large[:600_000], large[:600_000]]))
    assert told.status_code == 413
    assert "at most 1 MB" in told.json()["error"]


def test_a_password_opens_what_it_should(serve, folder):
    rules = {"password": "correct horse", "view_password": "only looking"}
    served = serve(folder, **rules)
    client = served.client()
    assert client.get("/api/site").status_code == 401
    assert client.get("/").status_code == 401
    assert client.get("/login").status_code == 200
    assert client.post("/api/login", json={"password": "wrong"}).status_code == 403
    opened = client.post("/api/login", json={"password": "only looking"})
    assert opened.json()["role"] == "view"
    cookie = opened.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert client.get("/api/site").status_code == 200
    bearer = {"authorization": "Bearer correct horse"}
    assert served.client(headers=bearer).get("/api/me").json()["role"] == "control"
    client.post("/api/logout")
    assert client.get("/api/site").status_code == 401


def test_passwords_cannot_be_tried_for_ever(serve, folder):
    client = serve(folder, password="correct horse").client()
    codes = [client.post("/api/login", json={"password": f"{i}"}).status_code for i in range(10)]
    assert codes == [403] * 8 + [429] * 2
    assert client.post("/api/login", json={"password": "correct horse"}).status_code == 429


def test_other_machines_need_a_password():
    with pytest.raises(ConfigurationError, match="--password-file"):
        access_for("0.0.0.0")
    with pytest.raises(ConfigurationError, match="at least 10"):
        access_for("192.168.1.5", password="short")
    assert access_for("192.168.1.5", password="long enough").hosts >= {"192.168.1.5", "localhost"}
    assert access_for("127.0.0.1", read_only=True).most is Role.VIEW


def test_roles_by_password_and_read_only():
    access = Access("correct horse", "only looking", read_only=True)
    assert access.role(None, "correct horse") is Role.VIEW
    assert access.role(None, "wrong") is Role.NONE
    assert Access().role(None, None) is Role.CONTROL


def test_a_fault_inside_is_told_without_its_inside(serve, folder):
    served = serve(folder)

    def broken() -> None:
        raise RuntimeError("secret inside")

    served.app.router.add_api_route("/api/broken", broken)
    answer = served.client().get("/api/broken")
    assert answer.status_code == 500
    assert "secret" not in answer.text
    assert "Traceback" not in answer.text


def test_an_unknown_path_has_no_site(tmp_path):
    with pytest.raises(ConfigurationError, match="no such file or folder"):
        Site(tmp_path / "none.job")


def test_ids_are_plain_and_unlike(tmp_path):
    for name in ("a.csv", "b.csv"):
        export_text(sample("short"), tmp_path / name)
    first, second = Site(tmp_path).entries()
    assert first.name == second.name
    assert first.id != second.id
    assert Site(tmp_path).entry(second.id).file.name == "b.csv"
    with pytest.raises(LookupError, match="no sounding"):
        Site(tmp_path).entry("none")


@pytest.mark.browser
def test_the_start_page_lists_the_soundings(serve, folder, page):
    served = serve(folder)
    page.goto(served.url)
    page.wait_for_selector("#soundings tbody tr")
    assert page.locator("#soundings tbody tr").count() == 2
    assert page.locator("#unread li").count() == 1
    page.get_by_role("button", name="Night").click()
    assert page.evaluate("document.documentElement.dataset.theme") == "dark"


@pytest.mark.browser
def test_the_password_page_leads_back(serve, folder, page):
    served = serve(folder, password="correct horse")
    page.watched.expected = ("401", "403")
    page.goto(f"{served.url}/login?to=https://evil.example/")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Enter").click()
    page.get_by_role("alert").wait_for()
    page.get_by_label("Password").fill("correct horse")
    page.keyboard.press("Enter")
    page.wait_for_selector("#soundings tbody tr")
    assert page.url == f"{served.url}/"
