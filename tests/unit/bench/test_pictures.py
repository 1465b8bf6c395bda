"""Photos of a variant: beside its file, in the session that froze it, and never another one in their place."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from tests.data.made_up import VARIANT
from valvebench.bench.pictures import named_picture, picture_in, pictures_beside
from valvebench.bench.variants import VariantFiles
from valvebench.compose import Program
from valvebench.model.draft_field import Part
from valvebench.model.errors import BadInput, WorldFailed
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Spot, with_cells

PNG = b"\x89PNG\r\n\x1a\nmade up, not a picture anybody could draw"
JPEG = b"\xff\xd8\xffmade up"


def sha_of(raw):
    return hashlib.sha256(raw).hexdigest()


def plain_save(path, raw):
    path.write_bytes(raw)


def files():
    return VariantFiles(read=lambda path: path.read_bytes(), save=plain_save)


def with_photo(draft, picture):
    cells = {"picture_body": picture.file, "sha_body": picture.sha256}
    return with_cells(draft, {Spot(Part.BODY, 0, key): text for key, text in cells.items()})


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "body.json"
    path.write_text(json.dumps(VARIANT), encoding="utf-8")
    return path


@pytest.fixture
def photo(tmp_path):
    (tmp_path / "camera").mkdir()
    photo = tmp_path / "camera" / "lower half: 2.PNG"
    photo.write_bytes(PNG)
    return photo


@pytest.mark.parametrize(
    ("raw", "name", "file"),
    [
        (PNG, "lower half.png", f"lower half-{sha_of(PNG)[:8]}.png"),
        (JPEG, "a/../b:c.jpeg", f"bc-{sha_of(JPEG)[:8]}.jpg"),
        (JPEG, "....jpg", f"photo-{sha_of(JPEG)[:8]}.jpg"),
    ],
)
def test_a_photo_gets_a_name_of_its_own(raw, name, file):
    assert named_picture(raw, file_name=name).picture == Picture(sha256=sha_of(raw), file=file)


def test_what_is_no_picture_is_refused(path):
    with pytest.raises(BadInput, match="neither PNG nor JPEG"):
        files().take_picture(path, shrunk=bytes)


def test_saving_puts_the_photo_beside_the_file_and_opening_finds_it(path, photo):
    one = files()
    picture = one.take_picture(photo, shrunk=bytes)
    one.save(path, with_photo(one.load(path), picture))
    assert path.with_name(picture.file).read_bytes() == PNG
    other = files()
    assert other.load(path).body("sha_body") == sha_of(PNG)
    assert other.picture(sha_of(PNG)) == PNG


def test_what_is_kept_is_what_the_shrinking_made(photo):
    one = files()
    picture = one.take_picture(photo, shrunk=lambda _: JPEG)
    assert picture.sha256 == sha_of(JPEG)
    assert one.picture(picture.sha256) == JPEG


def test_a_photo_that_is_missing_or_changed_is_not_shown(path, photo):
    one = files()
    picture = one.take_picture(photo, shrunk=bytes)
    one.save(path, with_photo(one.load(path), picture))
    beside = path.with_name(picture.file)
    beside.write_bytes(PNG + b"!")
    assert pictures_beside(path, [picture], read=lambda one: one.read_bytes()) == ()
    beside.unlink()
    other = files()
    draft = other.load(path)
    assert other.picture(picture.sha256) is None
    other.save(path, draft)  # the variant still names it
    assert not beside.exists()


def test_another_file_of_that_name_is_never_overwritten(path, photo):
    one = files()
    picture = one.take_picture(photo, shrunk=bytes)
    draft = with_photo(one.load(path), picture)
    before = path.read_bytes()
    path.with_name(picture.file).write_bytes(b"somebody's own")
    with pytest.raises(WorldFailed, match="another file of this name"):
        one.save(path, draft)
    assert (path.with_name(picture.file).read_bytes(), path.read_bytes()) == (b"somebody's own", before)


def test_a_job_keeps_the_photos_with_the_variant_it_freezes(path, photo, tmp_path):
    one = files()
    picture = one.take_picture(photo, shrunk=bytes)
    one.save(path, with_photo(one.load(path), picture))
    desk = Program().create_job(tmp_path / "T-33", {"job": "T-33", "kind": "bench_check"}, variant=path)
    path.with_name(picture.file).unlink()
    try:
        assert desk.photo(desk.variant.pictures.body.sha256) == PNG
        assert desk.variant_file() == path.read_bytes()
        again = files()
        assert again.copy_of(desk.variant_file(), source="the job", blob=desk.photo) == one.load(path)
        assert again.picture(picture.sha256) == PNG
    finally:
        desk.release()
    assert Program.verify(tmp_path / "T-33").ok


def test_a_job_without_a_variant_has_none(tmp_path):
    desk = Program().create_job(tmp_path / "T-34", {"job": "T-34", "kind": "bench_check"})
    desk.release()
    assert desk.variant_file() is None


def test_a_photo_is_taken_from_the_first_folder_that_has_just_that_one(tmp_path):
    own, examples = tmp_path / "own", tmp_path / "examples"
    for folder, raw in ((own, JPEG), (examples, PNG)):
        folder.mkdir()
        (folder / "mark.png").write_bytes(raw)
    wanted = Picture(sha256=sha_of(PNG), file="mark.png")
    assert picture_in((own, examples), wanted, read=Path.read_bytes) == PNG, "another one of that name is passed over"
    assert picture_in((own,), wanted, read=Path.read_bytes) is None
    assert picture_in((own, examples), Picture(sha256=sha_of(PNG), file="lost.png"), read=Path.read_bytes) is None
