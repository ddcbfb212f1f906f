import csv
import io
import re
from dataclasses import replace

import numpy as np
import pytest

from striderule.export.poses_csv import columns_of, poses_csv_text, write_poses_csv
from striderule.model.seeds import starter_paths
from striderule.model.shotfile import load_shot
from striderule.solve import solve

# The contract, written out by hand: a change of the code must not change it unseen.
TRUNK = """pose first_frame last_frame timecode step key ref_x_mm ref_y_mm ref_z_mm body_x_mm body_y_mm body_z_mm
    body_yaw_deg body_pitch_deg body_roll_deg""".split()  # noqa: SIM905
LEG = """state hip_x_mm hip_y_mm hip_z_mm knee_x_mm knee_y_mm knee_z_mm ankle_x_mm ankle_y_mm ankle_z_mm heel_x_mm
    heel_y_mm heel_z_mm ball_x_mm ball_y_mm ball_z_mm toe_x_mm toe_y_mm toe_z_mm hip_swing_deg hip_out_deg knee_deg
    ankle_deg toe_deg""".split()  # noqa: SIM905

CHEST = """chest_yaw_deg chest_pitch_deg chest_roll_deg waist_x_mm waist_y_mm waist_z_mm waist_turn_deg waist_lean_deg
    waist_tilt_deg""".split()  # noqa: SIM905
HEAD = """head_yaw_deg head_pitch_deg head_roll_deg neck_x_mm neck_y_mm neck_z_mm neck_turn_deg neck_lean_deg
    neck_tilt_deg""".split()  # noqa: SIM905
ARM = """swing_deg out_deg elbow_deg shoulder_x_mm shoulder_y_mm shoulder_z_mm elbow_x_mm elbow_y_mm elbow_z_mm
    hand_x_mm hand_y_mm hand_z_mm""".split()  # noqa: SIM905
LOOSE = "swing_deg side_deg joint_x_mm joint_y_mm joint_z_mm end_x_mm end_y_mm end_z_mm".split()  # noqa: SIM905


def rows_of(plan):
    return list(csv.DictReader(io.StringIO(poses_csv_text(plan))))


def test_the_columns_are_the_contract(made_plan):
    expected = TRUNK + [f"left_{c}" for c in LEG] + [f"right_{c}" for c in LEG]
    assert list(columns_of(("left", "right"))) == expected
    assert poses_csv_text(made_plan()).splitlines()[0].split(",") == expected


def test_three_legs_give_three_blocks_of_columns(made_plan, made_shot):
    plan = made_plan(made_shot(names=("left", "right", "tail")))
    assert len(rows_of(plan)[0]) == len(TRUNK) + 3 * len(LEG) + 1
    assert list(rows_of(plan)[0])[-1] == "support_margin_mm"


def test_chest_head_arms_and_loose_parts_follow_where_a_puppet_has_them():
    head = list(rows_of(solve(load_shot(starter_paths()["lamplighter"])))[0])
    legs = TRUNK + [f"{leg}_{c}" for leg in ("left", "right") for c in LEG]
    arms = [f"{arm}_{c}" for arm in ("left_arm", "right_arm") for c in ARM]
    loads = [f"{leg}_{joint}_load" for leg in ("left", "right") for joint in ("hip", "hip_out", "knee", "ankle", "toe")]
    weight = ["com_x_mm", "com_y_mm", "com_z_mm", "support_margin_mm", "rig_g", *loads]
    assert head == legs + CHEST + HEAD + arms + [f"lantern_{c}" for c in LOOSE] + weight
    assert len(set(head)) == len(head)
    heron = list(rows_of(solve(load_shot(starter_paths()["heron"])))[0])
    assert heron == legs + CHEST + HEAD + [f"crest_{c}" for c in LOOSE] + weight


def test_the_upper_body_s_numbers_are_the_plan_s():
    plan = solve(load_shot(starter_paths()["lamplighter"]))
    row = {key: float(cell) for key, cell in rows_of(plan)[8].items() if key.endswith(("_mm", "_deg"))}

    def cells(*names):
        return [row[name] for name in names]

    close = {"abs": 1e-4}
    assert cells(*CHEST[:3]) == pytest.approx(plan.chest_deg[8].tolist(), **close)
    assert cells(*CHEST[6:]) == pytest.approx(plan.upper.waist_deg[8].tolist(), **close)
    assert cells(*HEAD[3:6]) == pytest.approx(plan.neck_mm[8].tolist(), **close)
    assert cells(*HEAD[6:]) == pytest.approx(plan.upper.neck_deg[8].tolist(), **close)
    assert cells(*(f"right_arm_{c}" for c in ARM[:3])) == pytest.approx(plan.arm_angles.deg[8, 1].tolist(), **close)
    assert cells(*(f"right_arm_{c}" for c in ARM[9:])) == pytest.approx(plan.arms[1].hand_mm[8].tolist(), **close)
    assert cells(*(f"lantern_{c}" for c in LOOSE[5:])) == pytest.approx(plan.loose[0].end_mm[8].tolist(), **close)
    assert row["lantern_swing_deg"] == pytest.approx(plan.loose[0].swing_deg[8], **close)


def test_poses_and_frames_count_from_one_and_a_pose_on_twos_has_two_frames(made_plan, made_shot):
    rows = rows_of(made_plan(made_shot(frames_per_pose=2, fps="24")))
    assert [rows[k]["pose"] for k in (0, 1)] == ["1", "2"]
    assert (rows[1]["first_frame"], rows[1]["last_frame"], rows[1]["timecode"]) == ("3", "4", "00:00:00:02")
    assert len(rows) == 13


def test_every_length_and_angle_has_exactly_four_decimals(made_plan):
    for row in rows_of(made_plan()):
        for name, cell in row.items():
            if name.endswith(("_mm", "_deg")):
                assert re.fullmatch(r"-?\d+\.\d{4}", cell), (name, cell)


def test_minus_zero_is_written_as_zero(made_plan):
    plan = made_plan()
    plan = replace(plan, reference_mm=np.full_like(plan.reference_mm, -0.00004))
    assert rows_of(plan)[0]["ref_x_mm"] == "0.0000"
    assert "-0.0000" not in poses_csv_text(plan)


def test_states_and_keys_are_written_in_words(made_plan):
    plan = made_plan()
    plan.state[1, 0] = 2
    row = rows_of(plan)[1]
    assert (row["left_state"], row["right_state"], row["key"]) == ("toe", "planted", "down")


def test_the_numbers_are_the_plan_s(made_plan):
    plan = made_plan()
    plan = replace(plan, toe_deg=plan.toe_deg + 7.25, knee_mm=plan.knee_mm + np.array([0.0, 0.0, 0.1234]))
    row = rows_of(plan)[4]
    assert row["right_toe_deg"] == f"{plan.toe_deg[4, 1]:.4f}"
    assert row["right_knee_z_mm"] == f"{plan.knee_mm[4, 1, 2]:.4f}"
    assert row["ref_x_mm"] == "40.0000"


def test_the_file_has_unix_line_ends_and_the_same_bytes_twice(tmp_path, made_plan):
    for name in ("a.csv", "b.csv"):
        write_poses_csv(tmp_path / name, made_plan())
    first = (tmp_path / "a.csv").read_bytes()
    assert first == (tmp_path / "b.csv").read_bytes()
    assert b"\r" not in first
    assert first.endswith(b"\n")
