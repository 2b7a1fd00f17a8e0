"""Who may ask, and for what: addresses, origins, names of files."""

from __future__ import annotations

import os

import pytest

WAYS_OUT = (
    "../secret.toml",
    "..%2fsecret.toml",
    "..\\secret.toml",
    "/etc/passwd",
    "//etc/passwd",
    "C:\\secret.toml",
    "file:///etc/passwd",
    "....//secret.toml",
    "%2e%2e/secret.toml",
    "azimuth_belt.toml/../../secret.toml",
    "azimuth_belt.toml\x00.toml",
    ".lobewright/x.toml",
    "",
    ".",
    "..",
    "a" * 300 + ".toml",
)


@pytest.mark.parametrize(
    "heads",
    [
        {"host": "evil.example"},
        {"host": "127.0.0.1"},
        {"host": "127.0.0.1:9999"},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
@pytest.mark.parametrize("path", ["/", "/api/state", "/api/form", "/download", "/pages/app.js"])
def test_another_page_or_address_is_not_answered(client, heads, path):
    answer = client.get(path, headers=heads)
    assert answer.status_code == 403 and "azimuth" not in answer.text
    assert answer.json()["faults"][0]["sentence"].startswith("Refused")


def test_a_change_in_another_dress_is_refused(client, folder):
    before = (folder / "azimuth_belt.toml").read_text("utf-8")
    body = '{"edits": [{"place": "rigid_ring[1].teeth", "value": 104}]}'
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"):
        assert client.post("/api/edits", content=body, headers={"content-type": kind}).status_code == 403
    assert (folder / "azimuth_belt.toml").read_text("utf-8") == before


def test_a_body_beyond_all_designs_is_refused(client):
    long = '{"file": "a.toml", "text": "' + "x" * 2_000_000 + '"}'
    assert client.post("/api/new", content=long, headers={"content-type": "application/json"}).status_code == 403


@pytest.mark.parametrize("name", WAYS_OUT)
def test_no_name_leads_out_of_the_folder(client, folder, name):
    for path, body in (
        ("/api/open", {"file": name}),
        ("/api/look", {"edits": [], "beside": name or "?"}),
        ("/api/new", {"file": name, "text": "a = 1"}),
    ):
        answer = client.post(path, json=body)
        assert answer.status_code == 422 and "not for the page" not in answer.text, (path, answer.text)
    for path in ("/results/", "/pages/"):
        answer = client.get(path + name.replace("\x00", "%00"))
        assert "not for the page" not in answer.text and "root:" not in answer.text
        assert answer.status_code in (404, 422) or "text/html" in answer.headers["content-type"]
    assert sorted(one.name for one in folder.parent.iterdir()) == ["garden", "secret.toml"]


@pytest.mark.parametrize(
    "edit",
    [
        {"place": "workshop", "value": "../secret.toml"},
        {"place": "workshop", "value": "/etc/passwd"},
        {"place": "tooth.file", "value": "../../../../etc/passwd"},
        {"place": "rigid_ring[1].outline", "value": "/etc/passwd"},
        {"place": "recorded_motion.file", "value": "..\\secret.toml"},
    ],
)
def test_a_design_cannot_read_files_elsewhere(client, edit):
    answer = client.post("/api/look", json={"edits": [edit], "coarse": True}).json()
    assert answer["ok"] is False
    assert any("project folder only" in one["what"] for one in answer["faults"])
    assert "not for the page" not in str(answer) and "root:" not in str(answer)


def test_links_out_of_the_folder_are_not_followed(client, folder):
    os.symlink(folder.parent / "secret.toml", folder / "link.toml")
    (folder / "azimuth_belt_make").mkdir()
    os.symlink("/etc/passwd", folder / "azimuth_belt_make" / "out.txt")
    assert client.post("/api/open", json={"file": "link.toml"}).status_code == 422
    assert client.get("/results/azimuth_belt_make/out.txt").status_code == 422
    assert b"root:" not in client.get("/download").content


def test_every_answer_forbids_other_sources(client):
    for path in ("/", "/pages/app.js", "/api/state", "/pages/no_such.js"):
        heads = client.get(path).headers
        assert "default-src 'none'" in heads["content-security-policy"]
        assert heads["x-content-type-options"] == "nosniff"
