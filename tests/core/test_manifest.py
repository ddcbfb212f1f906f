import json
import os
import sys
from dataclasses import replace

import pytest

from striderule import __version__
from striderule.errors import OutputError
from striderule.export.manifest import Manifest, Source, manifest_name, refuse_other_shot, retire, write_manifest
from striderule.model.identity import shot_identity


def written(folder, shot, source, name="manifest.json"):
    manifest = Manifest(shot, source, {"digits": 4}, 13, {"b.csv": "1", "a.json": "2"}, {"overlay/x/all/0001.png": "f"})
    write_manifest(folder / name, manifest)
    return json.loads((folder / name).read_text(encoding="utf-8"))


def test_the_manifest_tells_of_shot_file_settings_files_and_pictures(tmp_path, made_shot):
    file = tmp_path / "mine.toml"
    file.write_bytes(b"abc")
    shot = made_shot()
    content = written(tmp_path, shot, Source.of(file))
    assert content["striderule"] == __version__
    assert content["shot"] == {
        "name": "made",
        "identity": shot_identity(shot),
        "poses": 13,
        "frames": 13,
        "file": "mine.toml",
        # sha256 of "abc": FIPS 180-2, appendix B.1
        "sha256": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    }
    assert content["settings"] == {"digits": 4}
    assert list(content["files"]) == ["a.json", "b.csv"]
    assert content["pictures"] == {"overlay/x/all/0001.png": "f"}


def test_the_manifest_holds_no_absolute_path(tmp_path, made_shot):
    file = tmp_path / "mine.toml"
    file.write_bytes(b"abc")
    written(tmp_path, made_shot(), Source.of(file))
    assert str(tmp_path) not in (tmp_path / "manifest.json").read_text(encoding="utf-8")


def test_a_part_of_a_shot_has_a_manifest_of_its_own():
    assert manifest_name(1, 13, 13) == "manifest.json"
    assert manifest_name(9, 13, 13) == "manifest_9-13.json"


def test_a_folder_of_another_shot_is_refused(tmp_path, made_shot):
    written(tmp_path, made_shot(), Source("mine.toml", "0"))
    refuse_other_shot(tmp_path, made_shot(), Source("mine.toml", "1"))
    refuse_other_shot(tmp_path, made_shot(), Source())
    with pytest.raises(OutputError, match=r"'made' of mine\.toml.*--replace"):
        refuse_other_shot(tmp_path, replace(made_shot(), name="other"), Source("mine.toml", "0"))
    with pytest.raises(OutputError, match="--replace"):
        refuse_other_shot(tmp_path, made_shot(), Source("copy.toml", "0"))


def test_a_folder_with_a_foreign_manifest_or_none_is_not_refused(tmp_path, made_shot):
    refuse_other_shot(tmp_path / "missing", made_shot(), Source())
    for text in ("[]", "no json", '{"kind": "other", "shot": {"name": "x"}}'):
        (tmp_path / "manifest.json").write_text(text)
        refuse_other_shot(tmp_path, made_shot(), Source())


def test_a_new_run_takes_away_the_manifests_that_it_makes_untrue(tmp_path, made_shot):
    shot = made_shot()
    changed = replace(shot, fps="24")
    for name, of in (("manifest.json", shot), ("manifest_1-3.json", shot), ("manifest_4-5.json", changed)):
        written(tmp_path, of, Source(), name)
    retire(tmp_path / "manifest_1-3.json", shot)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["manifest.json"]


def test_a_manifest_that_cannot_be_read_as_one_is_nobody_s(tmp_path, made_shot):
    (tmp_path / "manifest.json").write_text("[" * 100_000)
    (tmp_path / "manifest_1-2.json").mkdir()
    (tmp_path / "manifest_3-4.json").write_bytes(b"\xff")
    refuse_other_shot(tmp_path, made_shot(), Source("mine.toml"))


def test_a_folder_whose_name_the_system_refuses_is_told(tmp_path, made_shot):
    for ask in (lambda folder: refuse_other_shot(folder, made_shot(), Source()),
                lambda folder: retire(folder / "manifest.json", made_shot())):  # fmt: skip
        with pytest.raises(OutputError, match="cannot be looked into"):
            ask(tmp_path / ("x" * 300))


def test_a_file_name_that_is_no_utf_8_is_spelled_out(tmp_path, made_shot):
    file = tmp_path / os.fsdecode(b"\xff.toml")
    try:
        file.write_bytes(b"abc")
    except OSError:
        assert os.name != "posix" or sys.platform == "darwin"  # systems on which there is no such name
        return
    assert Source.of(file).name == "\\xff.toml"
    assert written(tmp_path, made_shot(), Source.of(file))["shot"]["file"] == "\\xff.toml"
