"""The JSON front door, run as a program."""

import io
import json
import subprocess
import sys

import pytest

from acoustics.__main__ import main

WALL = {
    "leaves": [
        {"layers": [{"material": "gypsum_board", "thickness_mm": 12.5}], "joined": "screwed"},
        {"layers": [{"thickness_mm": 15, "density_kg_m3": 853, "critical_frequency_hz": 2500, "loss_factor": 0.014}]},
    ],
    "gaps": [
        {
            "depth_mm": 50,
            "fill": {"thickness_mm": 50, "flow_resistivity_pa_s_m2": 9000, "density_kg_m3": 30},
            "connection": {"kind": "timber_stud", "spacing_mm": 600},
        }
    ],
    "size_m": [4.0, 2.75],
}


@pytest.fixture
def run(monkeypatch, capsys):
    """Run a verb in this process: (exit code, standard output, standard error)."""

    def call(verb: str, data: object) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO(data if isinstance(data, str) else json.dumps(data)))
        code = main([verb])
        captured = capsys.readouterr()
        return code, captured.out, captured.err

    return call


@pytest.fixture
def answer(run):
    def call(verb: str, data: object) -> dict:
        code, out, err = run(verb, data)
        assert code == 0, err
        return json.loads(out)

    return call


def test_as_a_program():
    values = {"kind": "stc", "values_db": [30] * 16}
    done = subprocess.run(
        [sys.executable, "-m", "acoustics", "rate"], input=json.dumps(values), capture_output=True, text=True
    )
    assert (done.returncode, json.loads(done.stdout)["weighted_db"]) == (0, 30)
    done = subprocess.run([sys.executable, "-m", "acoustics", "rate"], input="{}", capture_output=True, text=True)
    assert (done.returncode, json.loads(done.stderr)["error"]["field"]) == (2, "kind")


def test_the_engine_loads_without_django_and_without_what_only_the_takeoff_needs():
    script = "import sys, acoustics; print(sorted({'django', 'scipy', 'shapely', 'highspy'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", script], capture_output=True, text=True).stdout.strip() == "[]"


def test_rate(answer):
    values = [20.4, 16.3, 17.7, 22.6, 22.4, 22.7, 24.8, 26.6, 28.0, 30.5, 31.8, 32.5, 33.4, 33.0, 31.0, 25.5]
    got = answer("rate", {"kind": "airborne", "values_db": values})
    assert (got["weighted_db"], got["c_db"], got["ctr_db"]) == (30, -2, -3)
    assert "c_50_5000_db" not in got


def test_element(answer):
    got = answer("element", WALL)
    assert len(got["bands_hz"]) == len(got["reduction_db"]) == 21
    assert set(got) >= {
        "weighted_db",
        "c_db",
        "ctr_db",
        "stc_db",
        "resonance_hz",
        "surface_mass_kg_m2",
        "depth_mm",
        "uncertainty_db",
        "notices",
    }
    assert got["depth_mm"] == pytest.approx(77.5)
    assert 30 < got["weighted_db"] < 50


def test_an_anchored_base_is_met(answer):
    brick = {"leaves": [{"layers": [{"material": "brick_solid", "thickness_mm": 215}], "masonry": True}]}
    assert answer("element", {**brick, "base": {"weighted_db": 53}})["weighted_db"] == 53
    brick["leaves"][0]["base"] = {"weighted_db": 50}
    assert answer("element", brick)["weighted_db"] == 50


def test_predict(answer):
    got = answer(
        "predict",
        {
            "volume_m3": 36,
            "separating": [
                {
                    "name": "wall",
                    "area_m2": 10,
                    "element": {"reduction_db": [50] * 21},
                    "lining": {"improvement_db": [10] * 21},
                }
            ],
            "side_paths": [
                {
                    "name": "grille",
                    "kind": "duct",
                    "area_m2": 0.01,
                    "reduction_db": [20] * 21,
                    "after": {"reduction_db": [40] * 21},
                }
            ],
        },
    )
    # R' = 50 and 50 dB in parallel, then 60 and 70; D_nT adds 10 lg(0.32 V / S).
    assert got["before"]["standardized_db"][0] == pytest.approx(47.60, abs=0.01)
    assert got["after"]["standardized_db"][0] == pytest.approx(60.20, abs=0.01)
    assert sum(p["share_before"] for p in got["paths"]) == pytest.approx(1.0)
    assert [p["share_after"] for p in got["paths"]] == pytest.approx([10 / 11, 1 / 11])


def test_a_side_path_may_change_to_a_stated_reduction(answer):
    void = {"name": "void", "kind": "void", "source_area_m2": 10, "receiving_area_m2": 10, "link_area_m2": 0.2}
    room = {"volume_m3": 30, "separating": [{"name": "wall", "area_m2": 10, "element": {"reduction_db": [50] * 21}}]}
    void["after"] = {"area_m2": 0.2, "reduction_db": [60] * 21}
    got = answer("predict", {**room, "side_paths": [void]})
    assert got["paths"][1]["reduction_after_db"][0] == pytest.approx(60 + 16.99, abs=0.01)


def _with(path: list, value: object) -> dict:
    data = json.loads(json.dumps(WALL))
    place = data
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    return data


@pytest.mark.parametrize(
    ("path", "value", "field"),
    [
        (["gaps", 0, "depth_mm"], -1, "gaps[0].depth_mm"),
        (["gaps", 0, "depth_mm"], 0, "gaps[0].depth_mm"),
        (["gaps", 0, "fill", "thickness_mm"], "much", "gaps[0].fill.thickness_mm"),
        (["gaps", 0, "connection", "kind"], "string", "gaps[0].connection.kind"),
        (["leaves", 1, "layers", 0, "thickness_mm"], 0, "leaves[1].layers[0].thickness_mm"),
        (["leaves", 0, "layers", 0, "material"], "cheese", "leaves[0].layers[0].material"),
        (["leaves", 0, "joined"], "nailed", "leaves[0].joined"),
        (["leaves", 0, "layers"], [], "leaves[0].layers"),
        (["gaps"], [], "gaps"),
        (["size_m"], [4], "size_m"),
        (["size_m"], [4, None], "size_m[1]"),
        (["leafs"], [], "leafs"),
        (["base"], {"weighted_db": 50}, "base"),
        (["leaves", 1, "layers", 0, "thickness_mm"], 10**400, "leaves[1].layers[0].thickness_mm"),
        (["leaves", 1, "layers", 0, "density_kg_m3"], 1e-308, "leaves[1].layers[0].density_kg_m3"),
    ],
)
def test_errors_name_the_field(run, path, value, field):
    code, out, err = run("element", _with(path, value))
    assert (code, out) == (2, "")
    error = json.loads(err)["error"]
    assert error["field"] == field
    assert error["message"]


@pytest.mark.parametrize("text", ["", "[1]", "{", '{"kind": NaN}'])
def test_no_object_is_refused(run, text):
    code, _, err = run("rate", text)
    assert code == 2
    assert "error" in json.loads(err)


@pytest.mark.parametrize(
    ("verb", "data", "field"),
    [
        ("rate", {"kind": [], "values_db": [30] * 16}, "kind"),
        ("rate", {"kind": "stc", "values_db": [10**400] * 16}, "values_db[0]"),
        (
            "plan",
            {"volume_m3": 30, "separating_area_m2": 9, "surfaces": [{"name": ["a"], "transmission": [1e-5] * 21}]},
            "surfaces[0].name",
        ),
        ("plan", {"volume_m3": 30, "separating_area_m2": 1e-308, "surfaces": []}, "separating_area_m2"),
    ],
)
def test_odd_json_is_refused_by_field(run, verb, data, field):
    """Lists for words, whole numbers past a float's range and numbers next to nought are bad input, not a crash."""
    code, out, err = run(verb, data)
    assert (code, out) == (2, "")
    assert json.loads(err)["error"]["field"] == field
