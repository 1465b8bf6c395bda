"""The guide can be trusted: its examples print what it shows, its links lead somewhere, its pictures are small."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from valvebench.__main__ import main

ROOT = Path(__file__).parents[3]
GUIDE = ROOT / "resources" / "guide"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(GUIDE.rglob("*.md"))]
WITH_EXAMPLES = [page for page in PAGES if "\n$ valvebench " in page.read_text("utf-8")]
LARGEST_PICTURE_BYTES = 200_000


def name_of(page):
    return page.relative_to(ROOT).as_posix()


def examples_in(text):
    """Commands of console blocks, each with the lines that are printed below it."""
    for block in re.findall(r"```console\n(.*?)```", text, re.DOTALL):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, printed = part.partition("\n")
            yield command, printed.rstrip("\n")


def pattern_of(printed):
    """`…` on a line is anything, at the end of what is printed also further lines."""
    return re.escape(printed).replace("…", ".*?")


@pytest.fixture
def at_a_bench(tmp_path, monkeypatch):
    """A folder of its own with variant files and sample jobs where the guide has them."""
    shutil.copytree(ROOT / "resources" / "variants", tmp_path / "resources" / "variants")
    shutil.copytree(ROOT / "sample_sessions", tmp_path / "sample_sessions", ignore=shutil.ignore_patterns("lock"))
    shutil.copytree(ROOT / "resources" / "guide" / "logs", tmp_path / "resources" / "guide" / "logs")
    monkeypatch.chdir(tmp_path)


def said(capsys, command):
    code = main(shlex.split(command)[1:])
    told = capsys.readouterr()
    text = (told.err + told.out).removeprefix("valvebench: ").rstrip("\n")
    return "\n".join(line.rstrip() for line in text.splitlines()) + (f"\n[exit code {code}]" if code else "")


@pytest.mark.parametrize("page", WITH_EXAMPLES, ids=name_of)
def test_examples_print_what_the_guide_shows(page, at_a_bench, capsys):
    for command, printed in examples_in(page.read_text("utf-8")):
        told = said(capsys, command)
        if printed:
            assert re.fullmatch(pattern_of(printed), told, re.DOTALL), f"{command}\n{told}"


def slug(heading):
    """The anchor of a heading, as readers of Markdown make it."""
    kept = re.sub(r"[^\w\- ]", "", heading.lower().replace("`", ""))
    return kept.strip().replace(" ", "-")


def anchors_of(page):
    return {slug(heading) for heading in re.findall(r"^#+ (.+)$", page.read_text("utf-8"), re.MULTILINE)}


def links_in(text):
    """Targets of links and pictures inside the project."""
    prose = re.sub(r"```.*?```", "", text, flags=re.DOTALL)
    found = [*re.findall(r"\]\(([^)\s]+)\)", prose), *re.findall(r"(?:src|srcset|href)=\"([^\"]+)\"", prose)]
    return [link for link in found if "://" not in link]


def is_broken(page, link):
    path, _, anchor = link.partition("#")
    target = page.parent / path if path else page
    return not target.exists() or bool(anchor and anchor not in anchors_of(target))


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_links_lead_somewhere(page):
    assert [link for link in links_in(page.read_text("utf-8")) if is_broken(page, link)] == []


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_no_exclamation_marks_in_prose(page):
    prose = re.sub(r"```.*?```|`[^`]*`|!\[", "", page.read_text("utf-8"), flags=re.DOTALL)
    assert [line for line in prose.splitlines() if re.search(r"\w!", line)] == []


def paths_in(text):
    """What stands in code style and names a place in the project."""
    return re.findall(r"`((?:valvebench|tests|resources|sample_sessions)/[\w./-]+|pyproject\.toml)`", text)


@pytest.mark.parametrize("page", [page for page in PAGES if page.parent in (ROOT, GUIDE / "decisions")], ids=name_of)
def test_paths_are_there(page):
    assert [path for path in paths_in(page.read_text("utf-8")) if not (ROOT / path).exists()] == []


def rooms_in(page):
    return set(re.findall(r"^\| `valvebench/(\w+)(?:\.py)?` \|", page.read_text("utf-8"), re.MULTILINE))


def test_the_map_names_every_room():
    places = [place for place in (ROOT / "valvebench").iterdir() if place.is_dir() and (place / "__init__.py").exists()]
    assert {place.name for place in places} - rooms_in(ROOT / "DEVELOPERS.md") == set()


def fragments():
    return [path.name for path in (ROOT / "resources" / "news").glob("*.md") if path.name != "README.md"]


def test_every_news_fragment_has_a_number_and_a_kind():
    shape = re.compile(r"\d+(-[a-z-]+)?\.(added|changed|fixed)\.md")
    assert fragments()
    assert [name for name in fragments() if not shape.fullmatch(name)] == []


def test_every_page_of_the_guide_can_be_found_from_the_readme():
    reached = set(PAGES[:2])
    waiting = list(reached)
    while waiting:
        page = waiting.pop()
        targets = {(page.parent / link.partition("#")[0]).resolve() for link in links_in(page.read_text("utf-8"))}
        new = {target for target in targets if target.suffix == ".md"} - reached
        reached |= new
        waiting += new
    assert [name_of(page) for page in PAGES if page not in reached] == []


def test_pictures_are_small_and_shown():
    shown = " ".join(page.read_text("utf-8") for page in PAGES)
    pictures = sorted((GUIDE / "pictures").glob("*"))
    assert pictures
    assert [p.name for p in pictures if p.stat().st_size > LARGEST_PICTURE_BYTES or p.name not in shown] == []


def test_the_scans_see_what_is_planted(tmp_path):
    page = tmp_path / "page.md"
    page.write_text("# Here it is\n[a](gone.md) [b](#here-it-is) [c](#not-here)\n![d](d.png)\n", "utf-8")
    assert [link for link in links_in(page.read_text("utf-8")) if is_broken(page, link)] == [
        "gone.md",
        "#not-here",
        "d.png",
    ]
    assert list(examples_in("```console\n$ valvebench judge x\nFail\n…\n[exit code 1]\n```")) == [
        ("valvebench judge x", "Fail\n…\n[exit code 1]")
    ]
    assert re.fullmatch(pattern_of("hash …\nPass"), "hash ab12\nPass")
