"""What a bad value in a shot or puppet file is answered with: file, line, key, and a way out."""

from __future__ import annotations

from pathlib import Path

import pytest

from striderule import __version__
from striderule.errors import FileError
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import (
    load_puppet,
    load_shot,
    parse_puppet,
    parse_shot,
)

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")


def change(text: str, old: str, new: str) -> str:
    """`text` with one piece replaced, which must be in it once."""
    assert text.count(old) == 1, old
    return text.replace(old, new)


def marked_line(text: str) -> int:
    """The line that carries the mark "#!"; 0 = none."""
    lines = [number for number, line in enumerate(text.split("\n"), 1) if "#!" in line]
    return lines[0] if lines else 0


# (name of the case, piece of SHOT, what stands there instead, key, words of the message); #! marks the line to be named
BAD_SHOTS = [
    (
        "text for a number",
        "step_mm = 80",
        'step_mm = "80" #!',
        "walk.step_mm",
        'expected a number in mm from 0 to 5000, given "80". Write 80 without quotes.',
    ),
    ("bool for a number", "step_mm = 80", "step_mm = true #!", "walk.step_mm", "given true"),
    (
        "bool for a whole number",
        "steps = 3\n",
        "steps = true #!\n",
        "walk.steps",
        "a whole number from 1 to 20000, given true",
    ),
    ("date for a number", "step_mm = 80", "step_mm = 1999-01-01 07:30:00 #!", "walk.step_mm", "given a date or time"),
    (
        "decimal for a whole number",
        "poses_per_step = 6",
        "poses_per_step = 6.0 #!",
        "walk.poses_per_step",
        "given 6.0. Write 6, without a decimal point.",
    ),
    ("half a pose", "poses_per_step = 6", "poses_per_step = 6.5 #!", "walk.poses_per_step", "given 6.5."),
    ("negative length", "step_mm = 80", "step_mm = -80 #!", "walk.step_mm", "from 0 to 5000, given -80."),
    ("not a number", "step_mm = 80", "step_mm = nan #!", "walk.step_mm", "given nan"),
    ("infinite", "contact_mm = 199", "contact_mm = inf #!", "walk.hips.contact_mm", "given inf"),
    ("more than a float holds", "step_mm = 80", "step_mm = 1e999 #!", "walk.step_mm", "given inf"),
    ("huge count", "steps = 3\n", "steps = 1000000000 #!\n", "walk.steps", "from 1 to 20000, given 1000000000"),
    ("huge walk", "steps = 3\n", "steps = 20000 #!\n", "walk.steps", "at most 100000 poses"),
    ("digits beyond any count", "steps = 3\n", f"steps = {'9' * 4000} #!\n", "walk.steps", "more than 18 digits"),
    ("digits beyond Python's own limit", "steps = 3\n", f"steps = {'9' * 5000} #!\n", "", "thousands of digits"),
    (
        "hexadecimal beyond any count",
        "steps = 3\n",
        f"steps = 0x{'f' * 9000} #!\n",
        "walk.steps",
        "more than 18 digits",
    ),
    ("unknown key of the walk", "step_mm = 80", "stepp_mm = 80 #!", "walk.stepp_mm", 'Did you mean "step_mm"?'),
    ("key without its unit", "step_mm = 80", "step = 80 #!", "walk.step", 'Write "step_mm".'),
    ("unknown key at the top", "fps = 12", "fsp = 12 #!", "fsp", 'Did you mean "fps"?'),
    ("unknown table", "[stage]\n", "[stagee] #!\n", "stagee", 'Did you mean "stage"?'),
    (
        "cameras as a list",
        "[stage]\n",
        "[[view]] #!\nplace_mm = [0, 0, 0]\n[stage]\n",
        "view",
        "Write [view.desk], and",
    ),
    (
        "a camera without a name",
        "[stage]\n",
        "[view]\nplace_mm = [0, 0, 0] #!\n[stage]\n",
        "view.place_mm",
        "place_mm without a camera's name. Write [view.desk]",
    ),
    ("unknown dotted key", "[stage]\n", "[stage]\nwind.speed = 3 #!\n", "stage.wind", "Nearest is"),
    ("key of another table", "[stage]\n", "[stage]\nstep_mm = 80 #!\n", "stage.step_mm", "It belongs in [walk]."),
    ("key of the top in a table", "[stage]\n", "[stage]\nfps = 24 #!\n", "stage.fps", "at the top of the file"),
    (
        "kind of an inline puppet",
        'name = "Wader"\n',
        'name = "Wader"\nkind = "puppet" #!\n',
        "puppet.kind",
        "It stands once, at the top of the file.",
    ),
    (
        "missing thigh",
        "[puppet.leg.left]\nhip_mm = [0, 24, 0]\nthigh_mm = 100\n",
        "[puppet.leg.left] #!\nhip_mm = [0, 24, 0]\n",
        "puppet.leg.left.thigh_mm",
        "given nothing. Add thigh_mm = ... to [puppet.leg.left]",
    ),
    ("missing kind", 'kind = "shot"\n', "", "kind", 'expected "shot", given nothing'),
    ("missing format", "format = 1\n", "", "format", "expected a whole number from 1 to 1, given nothing"),
    ("wrong kind", 'kind = "shot"', 'kind = "puppet" #!', "kind", 'expected "shot", given "puppet". A puppet is named'),
    ("newer format", "format = 1", "format = 2 #!", "format", f"a newer Striderule than {__version__}"),
    ("format far away", "format = 1", f"format = 0x{'f' * 9000} #!", "format", "a newer Striderule"),
    ("format before the first", "format = 1", "format = 0 #!", "format", "Formats count from 1."),
    ("format true", "format = 1", "format = true #!", "format", "given true"),
    ("format as text", "format = 1", 'format = "1" #!', "format", 'given "1"'),
    ("fps decimal", "fps = 12", "fps = 29.97 #!", "fps", '29.97 as "30000/1001"'),
    ("fps zero", "fps = 12", "fps = 0 #!", "fps", "from 1 to 240"),
    ("fps by nothing", "fps = 12", 'fps = "24/0" #!', "fps", 'given "24/0"'),
    ("fps that would never end", "fps = 12", 'fps = "1e999999999" #!', "fps", "from 1 to 240"),
    ("one number of two", "start_mm = [10, -5]", "start_mm = [10] #!", "stage.start_mm", "expected 2 numbers in mm"),
    ("a number for two", "start_mm = [10, -5]", "start_mm = 10 #!", "stage.start_mm", "given 10."),
    (
        "text inside a list of lines",
        "start_mm = [10, -5]",
        'start_mm = [\n  10, # along\n  "x", #!\n]',
        "stage.start_mm",
        'given "x"',
    ),
    ("list inside a list", "start_mm = [10, -5]", "start_mm = [10, [[[3]]]] #!", "stage.start_mm", "given [a list]"),
    ("wrong word", 'landing = "soft"', 'landing = "Heavvy" #!', "walk.landing", 'Did you mean "heavy"?'),
    ("not a number in a list", "start_mm = [10, -5]", "start_mm = [10, nan] #!", "stage.start_mm", "given [10, nan]"),
    ("backdrop of no colour", "[overlay]\n", '[overlay]\nbackdrop = "beige" #!\n', "overlay.backdrop", "#rrggbb"),
    (
        "camera that points at itself",
        "target_mm = [0, 0, 150]",
        "target_mm = [0, 900, 300] #!",
        "view.door.target_mm",
        "a place other than place_mm",
    ),
    ("unknown layer", '    "target",\n', '    "targets", #!\n', "overlay.layers", 'given "targets"'),
    ("layer that is no text", '    "target",\n', "    7, #!\n", "overlay.layers", "expected a list of names, given 7"),
    ("a text for a list", 'views = ["side-on", "door"]', 'views = "door" #!', "overlay.views", 'Write ["door"].'),
    ("unknown view", 'views = ["side-on", "door"]', 'views = ["window"] #!', "overlay.views", "views out of"),
    ("camera without place", "place_mm = [0, 900, 300]\n", "", "view.door", "place_mm and target_mm together"),
    (
        "camera's unknown key",
        "resolution = [1280, 720]",
        "resolutoin = [1280, 720] #!",
        "view.door.resolutoin",
        'Did you mean "resolution"?',
    ),
    (
        "camera's resolution",
        "resolution = [1280, 720]",
        "resolution = [1280, 1] #!",
        "view.door.resolution",
        "[1280, 1]",
    ),
    ("camera's name", "[view.door]", '[view."Front Door"] #!', "view.Front Door", "a name of small letters"),
    (
        "a table's place taken",
        "[stage]\nstart_mm = [10, -5]\n",
        "[[stage]] #!\nstart_mm = [10, -5]\n",
        "stage",
        "expected a table ([stage]), given a list of tables",
    ),
    ("a value for a table", "[walk.hips]\ncontact_mm = 199\n", "hips = 199 #!\n", "walk.hips", "a table ([walk.hips])"),
    (
        "passing pose behind the step",
        "passing_pose = 3",
        "passing_pose = 6 #!",
        "walk.passing_pose",
        "a pose from 1 to 5",
    ),
    (
        "first foot of another puppet",
        "steps = 3\n",
        'steps = 3\nfirst_foot = "hind" #!\n',
        "walk.first_foot",
        "a leg of the puppet: left, right",
    ),
    ("no puppet", SHOT[SHOT.index("[puppet]") :], "", "puppet", "given nothing"),
    ("broken: no value", "step_mm = 80", "step_mm = #!", "", "expected TOML"),
    ("broken: decimal comma", "step_mm = 80", "step_mm = 80,5 #!", "", "decimals have a point"),
    ("broken: no quotes", 'landing = "soft"', "landing = soft #!", "", "Texts stand in quotes"),
    ("broken: quote left open", 'landing = "soft"', 'landing = "soft #!', "", "expected TOML"),
    ("broken: key twice", "step_mm = 80", "step_mm = 80\nstep_mm = 81 #!", "walk.step_mm", "this key twice"),
    (
        "broken: list twice",
        "start_mm = [10, -5]",
        "start_mm = [10, -5]\nstart_mm = [ #!\n10,\n-5\n]",
        "stage.start_mm",
        "this key twice",
    ),
    ("broken: table twice", "[stage]\n", "[walk] #!\n", "", "expected TOML"),
    ("broken: a line of nothing but words", "# a shot", "a shot #!", "", "expected TOML"),
    ("endless line", "# a shot", "#!" + "x" * 30_000, "", "lines of at most 20000 characters"),
]
# Lines that cannot carry the mark.
OTHER_LINES = {"missing kind": 1, "missing format": 1, "no puppet": 1, "camera without place": 21}


def as_is(text: str) -> bytes:
    return text.encode()


def from_windows(text: str) -> bytes:
    return b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode()


@pytest.mark.parametrize("written", [as_is, from_windows])
@pytest.mark.parametrize(
    ("old", "new", "key", "words", "name"),
    [(*case[1:], case[0]) for case in BAD_SHOTS],
    ids=[case[0] for case in BAD_SHOTS],
)
def test_a_bad_shot_is_refused_with_file_line_key_and_a_way_out(
    tmp_path: Path, old, new, key, words, name, written
) -> None:
    text = change(SHOT, old, new)
    path = tmp_path / "bad.toml"
    path.write_bytes(written(text))
    with pytest.raises(FileError) as caught:
        load_shot(path)
    error = caught.value
    line = marked_line(text) or OTHER_LINES[name]
    assert (error.file, error.line, error.key) == (path, line, key)
    assert words in str(error)
    assert str(error).startswith(f"{path}, line {line}: ")
    assert len(str(error)) < 600
    assert "\n" not in str(error)


BAD_PUPPETS = [
    (
        "limits the wrong way round",
        "hip_swing_deg = [-70, 30]",
        "hip_swing_deg = [30, -70] #!",
        "leg.left.limits.hip_swing_deg",
        "the least one first, given [30, -70]",
    ),
    (
        "unknown limit",
        "knee_deg = [40, 90]",
        "kne_deg = [40, 90] #!",
        "leg.left.limits.kne_deg",
        'Did you mean "knee_deg"?',
    ),
    (
        "limit of a length",
        "knee_deg = [40, 90]",
        "hip_to_ankle_mm = [100, 400] #!",
        "leg.left.limits.hip_to_ankle_mm",
        "two lengths from 12 to 212 mm",
    ),
    ("negative thigh", "thigh_mm = 100", "thigh_mm = -100 #!", "leg.left.thigh_mm", "from 1 to 5000, given -100"),
    (
        "place out of the world",
        "hip_mm = [0, 24, 0]",
        "hip_mm = [0, 24, 1e9] #!",
        "leg.left.hip_mm",
        "given [0, 24, 1000000000.0]",
    ),
    ("place over several lines", "  0,\n  14,\n", '  0,\n  "14", #!\n', "body.waist_mm", "Write 14 without quotes."),
    ("knee", 'knee = "backward"', 'knee = "backwards" #!', "leg.left.knee", 'Did you mean "backward"?'),
    (
        "mirror of nothing",
        'mirror_of = "left"',
        'mirror_of = "lefft" #!',
        "leg.right.mirror_of",
        "measured itself: left",
    ),
    (
        "mirror of itself",
        'mirror_of = "left"',
        'mirror_of = "right" #!',
        "leg.right.mirror_of",
        "measured itself: left",
    ),
    (
        "mirror of a mirror",
        'mirror_of = "left"\n',
        'mirror_of = "left"\n[leg.third]\nmirror_of = "right" #!\n',
        "leg.third.mirror_of",
        "measured itself: left",
    ),
    ("mirror of a number", 'mirror_of = "left"', "mirror_of = 3 #!", "leg.right.mirror_of", "given 3"),
    (
        "override of a mirror",
        'mirror_of = "left"\n',
        'mirror_of = "left"\nthigh_mm = -1 #!\n',
        "leg.right.thigh_mm",
        "given -1",
    ),
    (
        "override of a mirror's limits",
        'mirror_of = "left"\n',
        'mirror_of = "left"\nlimits = {knee_deg = [9, 2]} #!\n',
        "leg.right.limits.knee_deg",
        "the least one first",
    ),
    (
        "unknown override",
        'mirror_of = "left"\n',
        'mirror_of = "left"\nthihg_mm = 1 #!\n',
        "leg.right.thihg_mm",
        'Did you mean "thigh_mm"?',
    ),
    ("leg's name", "[leg.right]", "[leg.Right] #!", "leg.Right", "a name of small letters"),
    ("device as a name", "[leg.right]", "[leg.con] #!", "leg.con", "a name of small letters"),
    (
        "legs as a list",
        'mirror_of = "left"\n',
        'mirror_of = "left"\n[leg.x] #!\nhip_mm = [0, 0, 0]\n',
        "leg.x.thigh_mm",
        "given nothing",
    ),
    ("shape without its radius", 'form = "ball"\n', 'form = "box"\n', "shape.1.size_mm", "no size_mm"),
    ("shape's form", 'form = "capsule"', 'form = "capsul" #!', "shape.2.form", 'Did you mean "capsule"?'),
    ("shape's missing form", '[[shape]]\nform = "capsule"\n', "[[shape]] #!\n", "shape.2.form", "given nothing"),
    ("shape's unknown key", "radius_mm = 6", "radius = 6 #!", "shape.2.radius", 'Write "radius_mm".'),
    ("newer puppet", "format = 1", "format = 7 #!", "format", "needs a newer Striderule"),
    ("a key of the shot", 'name = "Wader"', 'name = "Wader"\nfps = 12 #!', "fps", "a known key"),
]
PUPPET_LINES = {"shape without its radius": 32}


@pytest.mark.parametrize("written", [as_is, from_windows])
@pytest.mark.parametrize(
    ("old", "new", "key", "words", "name"),
    [(*case[1:], case[0]) for case in BAD_PUPPETS],
    ids=[case[0] for case in BAD_PUPPETS],
)
def test_a_bad_puppet_is_refused_in_its_own_file_even_when_a_shot_names_it(
    tmp_path, old, new, key, words, name, written
) -> None:
    text = change(PUPPET, old, new)
    (tmp_path / "parts").mkdir()
    path = tmp_path / "parts" / "bad.toml"
    path.write_bytes(written(text))
    shot = tmp_path / "shot.toml"
    shot.write_text('kind = "shot"\nformat = 1\nname = "x"\npuppet = "parts/bad.toml"\n')
    for load in (lambda: load_puppet(path), lambda: load_shot(shot)):
        with pytest.raises(FileError) as caught:
            load()
        error = caught.value
        assert (error.file, error.line, error.key) == (path, marked_line(text) or PUPPET_LINES[name], key)
        assert words in str(error)


def test_a_puppet_of_one_leg_or_none_is_refused_at_its_legs() -> None:
    text = PUPPET[: PUPPET.index("[leg.right]")]
    with pytest.raises(FileError, match="at least two legs") as caught:
        parse_puppet(text, "p.toml")
    assert (caught.value.line, caught.value.key) == (13, "leg")
    with pytest.raises(FileError, match="at least two legs") as caught:
        parse_puppet('kind = "puppet"\nformat = 1\nname = "x"\n', "p.toml")
    assert caught.value.line == 1


@pytest.mark.parametrize(
    ("tail", "key", "line", "words"),
    [
        ("[[leg]]\n", "leg", 4, "expected a table ([leg]), given a list of tables"),
        ("leg = 3\n", "leg", 4, "expected a table ([leg]), given 3"),
        ("[leg]\nleft = 2\n", "leg.left", 5, "expected a table ([leg.left]), given 2"),
        ("[shape]\n", "shape", 4, "expected a list of tables ([[shape]]), given one table"),
        ("shape = [1]\n", "shape", 4, "expected a list of tables ([[shape]]), given [1]"),
        ("[body]\n[leg]\n[leg.left]\n[leg.left.limits.knee]\n", "leg.left.limits.knee", 7, 'Write "knee_deg".'),
    ],
)
def test_tables_of_the_wrong_shape_are_refused_where_they_stand(tail: str, key: str, line: int, words: str) -> None:
    with pytest.raises(FileError) as caught:
        parse_puppet('kind = "puppet"\nformat = 1\nname = "x"\n' + tail, "p.toml")
    assert (caught.value.line, caught.value.key) == (line, key)
    assert words in str(caught.value)


def test_an_empty_table_of_cameras_is_refused_with_the_right_form():
    source = starter_paths()["lamplighter"]
    text = source.read_text(encoding="utf-8")
    with pytest.raises(FileError) as caught:
        parse_shot(text + "[view]\n", source, source.parent)
    assert (caught.value.line, caught.value.key) == (text.count("\n") + 1, "view")
    assert "given [view] with nothing in it. Write [view.desk], and below it place_mm = " in str(caught.value)


LAMPLIGHTER = (next(iter(starter_paths().values())).parent / "puppets" / "lamplighter.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("upper_mm = 34 ", "uper_mm = 34 #!", "arm.left_arm.uper_mm", 'Did you mean "upper_mm"?'),
        (
            "swing_deg = [-45, 140] ",
            "swing_deg = [2, 140] #!",
            "arm.left_arm.rest_swing_deg",
            "inside its limits (2 to",
        ),
        ("elbow_deg = [5, 130] ", "elbow_deg = [130, 5] #!", "arm.left_arm.limits.elbow_deg", "the least one first"),
        ("rest_swing_deg = -16 ", "rest_swing_deg = 190 #!", "arm.right_arm.rest_swing_deg", "from -180 to 180"),
        (
            'mirror_of = "left_arm"',
            'mirror_of = "left" #!',
            "arm.right_arm.mirror_of",
            "an arm that is measured itself",
        ),
        (
            'part = "arm.left_arm.fore"        #',
            'part = "arm.left_arm.hand" #!',
            "loose.lantern.part",
            "arm.left_arm.fore",
        ),
        ("late_poses = 1\n", "late_poses = 0 #!\n", "loose.lantern.late_poses", "from 1 to 6, given 0"),
        ("swing_deg = [-50, 50] ", "swing_deg = [5, 50] #!", "loose.lantern.limits.swing_deg", "0, its rest, in it"),
        ("waist_tilt_deg = [-12, 12]", "waist_tilt_deg = [3, 12] #!", "body.waist_tilt_deg", "a range with 0"),
        ('part = "head"\nfrom_mm', 'part = "heat" #!\nfrom_mm', "part", "one of body, chest, head, arm.left_arm.upper"),
    ],
)
def test_bad_values_of_arms_and_loose_parts_are_refused_where_they_stand(old, new, key, words):
    text = change(LAMPLIGHTER, old, new)
    with pytest.raises(FileError) as caught:
        parse_puppet(text, "p.toml")
    assert caught.value.key.endswith(key)
    assert words in str(caught.value)
    if "rest_swing" not in key or "190" in new:
        assert caught.value.line == marked_line(text)
