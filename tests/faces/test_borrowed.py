"""Faces of the machine that draw some of a text are told, once each."""

from collections.abc import Callable
from dataclasses import replace
from importlib import resources
from pathlib import Path

import pytest

from tests.faces.drawn import shelf
from wallbill.faces.fitting import fit_set, smooth_set
from wallbill.faces.model import FaceAsk, FaceSet
from wallbill.faces.shelf import Shelf
from wallbill.faces.shell import FaceKeep, load_shelf
from wallbill.findings import Finding, Weight


def lending() -> Shelf:
    """The packaged faces, of which that for Hebrew and that for signs are the machine's."""
    faces = tuple(
        replace(
            face, path=f"/fonts/{face.family}.ttf", borrowed=face.family in ("Noto Sans Hebrew", "Noto Emoji")
        )
        for face in shelf().faces
    )
    return replace(shelf(), faces=faces)


@pytest.mark.parametrize("made", [fit_set, smooth_set])
def test_a_borrowed_face_is_told_by_its_file(made: Callable[..., FaceSet]) -> None:
    keep = FaceKeep(None)
    told: set[Finding] = set()
    for size_px in (12, 16):
        found = made(FaceAsk(("Noto Sans",), size_px), frozenset("Tide שלום ☔"), shelf=lending(), keep=keep)
        told.update(finding for finding in found.findings if finding.rule == "faces.borrowed")
    assert sorted(finding.where.file for finding in told) == [
        "/fonts/Noto Emoji.ttf",
        "/fonts/Noto Sans Hebrew.ttf",
    ]
    assert {finding.weight for finding in told} == {Weight.NOTE}


def test_nothing_is_told_where_nothing_is_borrowed() -> None:
    found = fit_set(FaceAsk(("Noto Sans",), 12), frozenset("Tide"), shelf=lending(), keep=FaceKeep(None))
    assert not found.findings


def test_only_faces_of_the_system_are_borrowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = resources.files("fontpkg_noto_serif") / "files" / "NotoSerif[wdth,wght].ttf"
    for name in ("system/DejaVuSans.ttf", "own/Mine.ttf"):
        (tmp_path / name).parent.mkdir()
        (tmp_path / name).write_bytes(file.read_bytes())
    monkeypatch.setattr("wallbill.faces.shell._SYSTEM_FOLDERS", (str(tmp_path / "system"),))
    faces = load_shelf(system=True).faces
    assert [Path(face.path).name for face in faces if face.borrowed] == ["DejaVuSans.ttf"]
    assert not any(face.borrowed for face in load_shelf([tmp_path / "own"]).faces)
