"""The variant library: taken in whole or not at all, never over another file, removed and brought back.

The photos are a few invented bytes that begin like a picture.
"""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import variant_data
from valvebench import compose
from valvebench.archive.moving import move_file
from valvebench.bench.library import Library, Refused
from valvebench.bench.pictures import named_picture
from valvebench.bench.variants import VariantFiles
from valvebench.model.draft_field import Part
from valvebench.model.draft_names import with_cell
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.variant_draft import Spot
from valvebench.model.variant_rules import read_variant

PHOTO = b"\x89PNG\r\n\x1a\n invented"


def written(folder, key, *, name=None, **changes):
    folder.mkdir(exist_ok=True)
    path = folder / (name or f"{key}.json")
    path.write_bytes(json.dumps(variant_data(key=key, title=f"Body {key}", **changes)).encode())
    return path


def with_photo(folder, key, raw=PHOTO):
    found = named_picture(raw, file_name="lower half.png")
    picture = {"sha256": found.picture.sha256, "file": found.picture.file}
    path = written(folder, key, pictures={"body": picture})
    (folder / found.picture.file).write_bytes(raw)
    return path, folder / found.picture.file


def plain_save(path, raw):
    path.write_bytes(raw)


def made(tmp_path, *, save=plain_save):
    own = tmp_path / "own"
    return Library(
        own,
        tmp_path / "examples",
        read=compose.read_file,
        save=save,
        move=move_file,
        make_own=lambda: own.mkdir(exist_ok=True),
    )


@pytest.fixture
def library(tmp_path):
    written(tmp_path / "examples", "tern")
    return made(tmp_path)


def names(folder):
    return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []


# --- listed -------------------------------------------------------------------------------


def test_own_variants_come_first_and_unusable_ones_say_why(library, tmp_path):
    written(library.own, "auk")
    (library.own / "bad.json").write_text('{"format": 1}')
    found = library.files()
    assert [(shelf.path.name, shelf.is_example) for shelf in found] == [
        ("auk.json", False),
        ("bad.json", False),
        ("tern.json", True),
    ]
    assert found[1].variant is None
    assert "key: found nothing" in found[1].problem
    assert "title: found nothing" in found[1].problem


def test_no_folder_yet_is_an_empty_shelf_and_makes_none(library):
    assert [shelf.is_example for shelf in library.files()] == [True]
    assert not library.own.exists()


def test_what_is_missing_is_listed_and_doubts_are_looked_for_on_one_shelf(library):
    written(library.own, "auk")
    written(library.own, "brant")
    auk, _, example = library.files()
    words = [lack.words for lack in auk.lacks]
    assert sum("no feature tells it from brant (Body brant)" in one for one in words) == 1
    assert not any("no feature tells it from" in lack.words for lack in example.lacks)


# --- taken in -----------------------------------------------------------------------------


def test_a_file_is_taken_in_with_its_photo_under_its_key(library, tmp_path):
    path, photo = with_photo(tmp_path / "stick", "auk")
    path = path.rename(path.with_name("from a friend.json"))
    taken = library.take_in([path])
    assert taken.new == (library.own / "auk.json",)
    assert names(library.own) == sorted(["auk.json", photo.name])
    assert (library.own / photo.name).read_bytes() == PHOTO
    assert taken.lost_photos == ()


def test_a_photo_that_does_not_lie_beside_the_file_is_named(library, tmp_path):
    path, photo = with_photo(tmp_path / "stick", "auk")
    photo.unlink()
    assert library.take_in([path]).lost_photos == (photo.name,)


def test_a_folder_is_taken_in_whole_and_what_is_known_stays(library, tmp_path):
    stick = tmp_path / "stick"
    for key in ("auk", "brant"):
        written(stick, key)
    written(library.own, "auk")
    taken = library.take_in_folder(stick)
    assert (taken.new, taken.known) == ((library.own / "brant.json",), ("auk.json",))


def test_one_bad_file_refuses_all_with_every_problem_and_changes_nothing(library, tmp_path):
    stick = tmp_path / "stick"
    written(stick, "auk")
    written(stick, "brant", format=2, devices=[{"name": "Heron", "kind": "owl", "between": ["3", "11"]}])
    (stick / "crake.json").write_text("not json")
    with pytest.raises(Refused) as caught:
        library.take_in_folder(stick)
    files = [trouble.file for trouble in caught.value.troubles]
    assert files == ["brant.json", "brant.json", "crake.json"]
    words = " ".join(trouble.words for trouble in caught.value.troubles)
    assert "line 1, format" in words
    assert "devices[0].kind" in words
    assert names(library.own) == []


def test_another_variant_of_the_same_key_is_never_overwritten(library, tmp_path):
    mine = written(library.own, "auk", name="my auk.json")
    before = mine.read_bytes()
    path = written(tmp_path / "stick", "auk", note="another one")
    with pytest.raises(Refused, match=r"my auk\.json has the key auk and says something else"):
        library.take_in([path])
    assert names(library.own) == ["my auk.json"]
    assert mine.read_bytes() == before


def test_two_files_with_one_key_refuse_each_other(library, tmp_path):
    paths = [written(tmp_path / "stick", "auk", name=name, note=name) for name in ("a.json", "b.json")]
    with pytest.raises(Refused, match=r"a\.json has the key auk too"):
        library.take_in(paths)


def test_another_photo_of_that_name_refuses_before_anything_is_written(library, tmp_path):
    path, photo = with_photo(tmp_path / "stick", "auk")
    library.own.mkdir()
    (library.own / photo.name).write_bytes(b"another one")
    with pytest.raises(Refused, match="another photo named"):
        library.take_in([path])
    assert names(library.own) == [photo.name]


def test_a_folder_without_variants_says_so(library, tmp_path):
    (tmp_path / "stick").mkdir()
    with pytest.raises(Refused, match="no variant files"):
        library.take_in_folder(tmp_path / "stick")


def test_a_disk_that_refuses_says_how_far_it_came(tmp_path):
    def full(path, raw):
        if path.name == "brant.json":
            raise WorldFailed("The disk is full.")
        path.write_bytes(raw)

    stick = tmp_path / "stick"
    for key in ("auk", "brant"):
        written(stick, key)
    with pytest.raises(WorldFailed, match=r"disk is full\. 1 of 2 were imported before"):
        made(tmp_path, save=full).take_in_folder(stick)


# --- handed on ----------------------------------------------------------------------------


def test_one_is_handed_on_with_its_photo(library, tmp_path):
    path, photo = with_photo(library.own, "auk")
    out = tmp_path / "out"
    out.mkdir()
    assert library.hand_on(path, out / "for you.json") == 1
    assert names(out) == sorted(["for you.json", photo.name])
    assert (out / "for you.json").read_bytes() == path.read_bytes()


def test_all_of_ones_own_are_handed_on_and_come_back_the_same(library, tmp_path):
    for key in ("auk", "brant"):
        with_photo(library.own, key)
    out = tmp_path / "out"
    out.mkdir()
    assert library.hand_on_all(out) == 2
    other = made(tmp_path / "elsewhere")
    (tmp_path / "elsewhere").mkdir()
    other.take_in_folder(out)
    assert {p.name: p.read_bytes() for p in other.own.iterdir()} == {
        p.name: p.read_bytes() for p in library.own.iterdir()
    }


def test_nothing_of_ones_own_says_so(library, tmp_path):
    with pytest.raises(Refused, match="no variants of your own yet"):
        library.hand_on_all(tmp_path)


def test_a_file_in_the_way_is_never_overwritten(library, tmp_path):
    path = written(library.own, "auk")
    there = tmp_path / "out.json"
    there.write_text("another one")
    with pytest.raises(Refused, match="another file of this name"):
        library.hand_on(path, there)
    assert there.read_text() == "another one"


# --- copied, removed ----------------------------------------------------------------------


def test_a_copy_has_its_own_key_and_title_and_the_same_photo(library, tmp_path):
    path, photo = with_photo(library.own, "auk")
    first, second = library.duplicate(path), library.duplicate(path)
    assert [first.name, second.name] == ["auk-copy.json", "auk-copy-2.json"]
    copy = read_variant(first.read_bytes(), source="copy")
    assert (copy.key, copy.title) == ("auk-copy", "Body auk (copy)")
    assert copy.named_pictures[0].file == photo.name
    assert copy.devices == read_variant(path.read_bytes(), source="auk").devices


def test_an_example_is_copied_among_ones_own_with_its_photo(library, tmp_path):
    path, photo = with_photo(tmp_path / "examples", "wren")
    assert library.duplicate(path) == library.own / "wren-copy.json"
    assert names(library.own) == sorted([photo.name, "wren-copy.json"])


def test_what_cannot_be_read_is_not_copied(library):
    library.own.mkdir()
    path = library.own / "bad.json"
    path.write_text("{}")
    with pytest.raises(BadInput):
        library.duplicate(path)
    assert names(library.own) == ["bad.json"]


def test_what_is_removed_is_in_no_list_and_comes_back_as_it_was(library):
    path = written(library.own, "auk")
    before = path.read_bytes()
    removed = library.remove(path)
    assert [shelf.is_example for shelf in library.files()] == [True]
    assert names(library.own) == ["auk.json.removed"]
    library.bring_back(removed)
    assert path.read_bytes() == before
    assert names(library.own) == ["auk.json"]


def test_two_of_one_name_are_set_aside_beside_each_other(library):
    for _ in range(2):
        library.remove(written(library.own, "auk"))
    assert names(library.own) == ["auk.json.removed", "auk.json.removed-2"]


def test_bringing_back_never_goes_over_another_file(library):
    removed = library.remove(written(library.own, "auk"))
    new = written(library.own, "auk", note="another one")
    with pytest.raises(WorldFailed, match="another file lies there"):
        library.bring_back(removed)
    assert b"another one" in new.read_bytes()


# --- a session keeps what it froze --------------------------------------------------------


def test_no_edit_removal_or_new_photo_reaches_a_session_that_froze_the_variant(library, tmp_path):
    path, photo = with_photo(library.own, "auk")
    job = tmp_path / "job"
    desk = compose.Program().create_job(job, {"job": "2221"}, variant=path)
    frozen, kept = desk.variant_file(), desk.photo(named_picture(PHOTO, file_name="x.png").picture.sha256)
    desk.release()
    journal = (job / "journal.jsonl").read_bytes()
    files = VariantFiles(read=compose.read_file, save=plain_save)
    files.save(path, with_cell(files.load(path), Spot(Part.DEVICES, 0, "low"), "1.5"))
    photo.write_bytes(b"\x89PNG\r\n\x1a\n another one")
    library.duplicate(path)
    library.remove(path)
    again = compose.open_desk(job)
    assert again.variant_file() == frozen
    assert again.variant.device_named("Heron").low_ohm == 4.9
    assert again.photo(named_picture(PHOTO, file_name="x.png").picture.sha256) == kept == PHOTO
    again.release()
    assert (job / "journal.jsonl").read_bytes() == journal
    assert compose.verify(job).ok


def test_a_copy_never_takes_a_key_that_a_file_of_another_name_has(library):
    path = written(library.own, "auk")
    written(library.own, "auk-copy", name="mine.json")
    assert library.duplicate(path).name == "auk-copy-2.json"


def test_a_file_that_changed_is_looked_at_anew(library):
    path = written(library.own, "auk")
    assert library.files()[0].variant.title == "Body auk"
    path.write_bytes(path.read_bytes().replace(b"Body auk", b"Body owl"))
    assert library.files()[0].variant.title == "Body owl"
    path.write_text("{}")
    assert library.files()[0].variant is None
