"""What holds for any shot that the model accepts, and for any file that a person can spoil."""

from __future__ import annotations

import dataclasses
from dataclasses import fields, replace
from functools import cache
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from striderule.errors import ModelError, StrideruleError
from striderule.model.fields import Spec, is_name, specs_of
from striderule.model.puppet import Body, Leg, Limits, Puppet, Shape
from striderule.model.seeds import starter_paths
from striderule.model.shot import ARC_POINTS, LAYERS, Overlay, Shot
from striderule.model.shotfile import dump_puppet, dump_shot, parse_puppet, parse_shot, shot_identity
from striderule.model.stage import Stage
from striderule.model.toml_reading import decoded
from striderule.model.upper import Arm, ArmLimits, Loose, LooseLimits, part_names
from striderule.model.variant import MAIN, Variant
from striderule.model.view import BUILT_IN_VIEWS, CameraSetup
from striderule.model.walk import Hips, Walk
from striderule.model.weight import Holding, Pull, Rig

DATA = Path(__file__).with_name("data")
PUPPET = (DATA / "puppet.toml").read_text(encoding="utf-8")
SHOT = (DATA / "shot.toml").read_text(encoding="utf-8")
STARTER_PUPPETS = sorted((next(iter(starter_paths().values())).parent / "puppets").glob("*.toml"))
NAMES = st.builds(str.__add__, st.sampled_from("abz"), st.text("az09_-", max_size=8)).filter(is_name)
TEXTS = st.text(st.characters(exclude_categories=["C", "Z"]) | st.just(" "), max_size=40)


@cache
def values_for(spec: Spec) -> st.SearchStrategy[Any]:
    """Any value that fits a field's description."""
    if spec.kind in ("number", "whole"):
        one = (
            st.floats(spec.least, spec.most) if spec.kind == "number" else st.integers(int(spec.least), int(spec.most))
        )
        whole = st.integers(int(spec.least) + 1, int(spec.most)).map(float) if spec.kind == "number" else one
        one = st.one_of(whole, one) if spec.most - spec.least > 2 else one
        values = one if spec.size == 1 else st.tuples(*[one] * spec.size)
        values = values.map(lambda pair: tuple(sorted(pair))) if spec.ordered else values
    else:
        values = {
            "flag": st.booleans(),
            "text": TEXTS,
            "name": NAMES,
            "choice": st.sampled_from(spec.choices or ("",)),
            "names": st.lists(NAMES, max_size=3).map(tuple),
        }[spec.kind]
    return st.none() | values if spec.optional else values


@st.composite
def made(draw: st.DrawFn, cls: type, **given_values: Any) -> Any:
    """Any object of a model class; given_values: strategies for single fields."""
    values: dict[str, Any] = {}
    for key, spec in specs_of(cls).items():
        required = next(f.default for f in fields(cls) if f.name == key) is dataclasses.MISSING
        if key not in given_values and (required or draw(st.booleans())):
            values[key] = draw(values_for(spec))
    values |= {key: draw(strategy) for key, strategy in given_values.items()}
    try:
        return cls(**values)
    except ModelError:
        assume(False)


@st.composite
def shapes(draw: st.DrawFn, parts: tuple[str, ...]) -> Shape:
    form = draw(st.sampled_from(sorted(Shape.NEEDS)))
    specs = specs_of(Shape)
    needs = {key: values_for(replace(specs[key], optional=False)) for key in Shape.NEEDS[form]}
    others = dict.fromkeys({key for needed in Shape.NEEDS.values() for key in needed} - set(needs), st.none())
    return draw(made(Shape, form=st.just(form), part=st.sampled_from(parts), **needs, **others))


def around_zero(least: float, most: float) -> st.SearchStrategy[tuple[float, float]]:
    """Limits with a joint's rest in them."""
    return st.tuples(st.floats(-least, 0.0), st.floats(0.0, most))


@st.composite
def arms(draw: st.DrawFn, name: str) -> Arm:
    limits = made(ArmLimits, swing_deg=around_zero(90, 170), out_deg=around_zero(30, 120),
                  elbow_deg=st.tuples(st.just(0.0), st.floats(30.0, 170.0)))  # fmt: skip
    rest = {f"rest_{key}_deg": st.just(0.0) for key in ("swing", "out", "elbow")}
    return draw(made(Arm, name=st.just(name), limits=limits, **rest))


@st.composite
def loose_parts(draw: st.DrawFn, name: str, parts: tuple[str, ...]) -> Loose:
    limits = made(LooseLimits, swing_deg=around_zero(90, 90), side_deg=around_zero(90, 90))
    return draw(made(Loose, name=st.just(name), part=st.sampled_from(parts), limits=limits))


@st.composite
def puppets(draw: st.DrawFn) -> Puppet:
    names = draw(st.lists(NAMES, min_size=2, max_size=4, unique=True))
    holds = {"holding": made(Holding), "pulls": st.lists(made(Pull), max_size=2).map(tuple)}
    limits = made(Limits, hip_to_ankle_mm=st.none(), hock_deg=st.just((0.0, 175.0)))
    two_bones: dict[str, st.SearchStrategy[Any]] = {
        **dict.fromkeys(("cannon_mm", "cannon_width_mm", "cannon_g"), st.none()),
        "hock_ratio": st.just(1.0),
    }
    three_bones = {"cannon_mm": st.floats(1.0, 5000.0), "hock_ratio": st.floats(0.2, 1.0)}

    def leg_named(name: str) -> st.SearchStrategy[Leg]:
        return made(Leg, name=st.just(name), limits=limits, **holds, **two_bones) | made(
            Leg, name=st.just(name), limits=limits, **holds, **three_bones
        )

    legs = [draw(leg_named(names[0]))]
    for name in names[1:]:
        mirror = st.sampled_from(legs).map(lambda leg, name=name: leg.mirrored(name))
        legs.append(draw(mirror | leg_named(name)))
    # names that no leg has: NAMES knows no r and no o
    had = tuple(draw(arms(f"arm_{k}")) for k in range(draw(st.integers(0, 2))))
    if len(had) == 2 and draw(st.booleans()):
        had = (had[0], had[0].mirrored("arm_1"))
    loose = tuple(draw(loose_parts(f"loose_{k}", part_names(had))) for k in range(draw(st.integers(0, 2))))
    stops = st.none() | around_zero(90, 90)
    turns = [f"{joint}_{key}_deg" for joint in ("waist", "neck") for key in ("turn", "lean", "tilt")]
    body = made(Body, total_g=st.none() | st.just(100_000.0), **dict.fromkeys(turns, stops))
    hung = st.lists(shapes(part_names(had, loose)), max_size=3).map(tuple)
    return draw(
        made(Puppet, legs=st.just(tuple(legs)), body=body, shapes=hung, arms=st.just(had), loose=st.just(loose))
    )


@st.composite
def shots(draw: st.DrawFn) -> Shot:
    puppet = draw(puppets())
    names = draw(st.lists(NAMES.filter(lambda name: name not in BUILT_IN_VIEWS), max_size=2, unique=True))
    places = values_for(replace(specs_of(CameraSetup)["place_mm"], optional=False))
    cameras = tuple(draw(made(CameraSetup, name=st.just(name), place_mm=places, target_mm=places)) for name in names)
    timing = dict.fromkeys(("passing_pose", "lift_off_poses", "toe_roll_poses", "flat_after_poses"), st.none())
    walk = made(
        Walk,
        hips=made(Hips),
        steps=st.integers(1, 40),
        poses_per_step=st.integers(2, 40),
        distance_mm=st.none(),  # the third of steps and step_mm, which variants set
        first_foot=st.none() | st.sampled_from(puppet.leg_names),
        **timing,
    )
    overlay = made(
        Overlay,
        views=st.lists(st.sampled_from([*BUILT_IN_VIEWS, *names]), max_size=3).map(tuple),
        layers=st.lists(st.sampled_from(LAYERS), max_size=3).map(tuple),
        arcs=st.lists(st.sampled_from(ARC_POINTS), max_size=3).map(tuple),
        backdrop=st.sampled_from(["none", "black", "Grey", "#12aB34"]),
    )
    variant = st.builds(
        Variant.of,
        NAMES.filter(lambda name: name != MAIN),
        st.fixed_dictionaries({}, optional={
            "step_mm": st.floats(0, 5000), "lean_deg": st.floats(-60, 60), "hips.up_mm": st.floats(1, 5000),
            "steps": st.integers(1, 40), "landing": st.sampled_from(["soft", "heavy"]),
        }),
        st.frozensets(st.sampled_from(["sway", "hips.down_mm"])),
        title=st.sampled_from(["", "Carrying", 'a "b" é']),
        fps=st.none() | st.sampled_from(["24", "30000/1001"]),
        frames_per_pose=st.none() | st.integers(1, 4),
    )  # fmt: skip
    fps = st.integers(1, 240).map(str) | st.sampled_from(["30000/1001", "24000/1001", "24/1", "012"])
    return draw(
        made(
            Shot,
            puppet=st.just(puppet),
            fps=fps,
            cameras=st.just(cameras),
            walk=walk,
            stage=made(Stage),
            overlay=overlay,
            rig=st.none() | made(Rig),
            variants=st.lists(variant, max_size=2, unique_by=lambda one: one.name).map(tuple),
        )
    )


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(shots())
def test_any_shot_written_and_read_back_is_the_same_shot(shot: Shot) -> None:
    text = dump_shot(shot)
    again = parse_shot(text, "x")
    assert again == shot
    assert shot_identity(again) == shot_identity(shot)
    assert dump_shot(again) == text
    assert parse_puppet(dump_puppet(shot.puppet), "x") == shot.puppet


# any file


def read_or_refuse(raw: bytes) -> None:
    """Reads as a shot and as a puppet; anything but a refusal or a model goes through and fails the test."""
    for what, parse in (("shot", parse_shot), ("puppet", parse_puppet)):
        try:
            parse(decoded(raw, "x.toml", what), "x.toml")
        except StrideruleError as error:
            said = str(error)
        else:
            said = "x.toml: read"
        assert said.startswith("x.toml")
        assert len(said) < 1000


EDITS = st.lists(
    st.tuples(st.integers(0, 10**6), st.sampled_from(["put", "insert", "cut"]), st.binary(min_size=1, max_size=3)),
    min_size=1,
    max_size=6,
)


@settings(deadline=None, max_examples=250, suppress_health_check=list(HealthCheck))
@given(st.sampled_from([SHOT.encode(), *(path.read_bytes() for path in STARTER_PUPPETS)]), EDITS)
def test_bytes_changed_at_random_are_read_or_refused_and_nothing_else(raw: bytes, edits: list) -> None:
    for place, how, piece in edits:
        at = place % len(raw)
        end = at + (len(piece) if how == "put" else 0 if how == "insert" else 5)
        raw = raw[:at] + (b"" if how == "cut" else piece) + raw[end:] or b"\n"
    read_or_refuse(raw)


ODD = [
    "nan",
    "-inf",
    "1e999",
    "-0.0",
    "true",
    '""',
    "'x'",
    "[]",
    "[[]]",
    "[{}]",
    "{}",
    "{a.b = 1}",
    "1979-05-27",
    "07:32:00",
    "9" * 30,
    "0xffffffffffffffffffff",
    "[nan, nan, nan]",
    "[1, 2]",
    "[1, true, 3]",
    '["side-on", "side-on"]',
    '["con"]',
    '"\\u0000"',
    '"' + "x" * 500 + '"',
    "[" * 60 + "]" * 60,
    "",
    "=",
    '"\\ud800"',
]
KEYS = [
    "kind",
    "format",
    "walk",
    "walk.hips",
    "leg",
    "puppet",
    "puppet.leg.left.limits",
    "shape",
    "view.a",
    '""',
    '"a.b"',
    "limits",
    "é",
    "__class__",
    "self",
]


@settings(deadline=None, max_examples=250, suppress_health_check=list(HealthCheck))
@given(
    st.sampled_from([SHOT, PUPPET]),
    st.lists(
        st.tuples(st.integers(0, 10**6), st.sampled_from(ODD), st.none() | st.sampled_from(KEYS)),
        min_size=1,
        max_size=3,
    ),
)
def test_values_and_keys_changed_at_random_are_read_or_refused_and_nothing_else(text: str, edits: list) -> None:
    lines = text.split("\n")
    for place, value, key in edits:
        at = place % len(lines)
        lines[at] = f"{key or lines[at].split('=')[0]} = {value}"
    read_or_refuse("\n".join(lines).encode("utf-8"))
