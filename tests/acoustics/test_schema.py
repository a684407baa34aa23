"""The schemas describe what the verbs read and write."""

import json

import pytest

from acoustics.__main__ import main
from acoustics.door import VERBS
from acoustics.schema import schema_of
from tests.acoustics.test_door import WALL


def conforms(value, schema, root) -> bool:
    """A small checker for the parts of JSON Schema that the schemas use."""
    if "$ref" in schema:
        return conforms(value, root["$defs"][schema["$ref"].rsplit("/", 1)[1]], root)
    if "anyOf" in schema:
        return any(conforms(value, option, root) for option in schema["anyOf"])
    if "enum" in schema:
        return value in schema["enum"]
    kind = schema.get("type")
    if kind == "object":
        if not isinstance(value, dict) or not set(schema.get("required", [])) <= set(value):
            return False
        known, extra = schema.get("properties", {}), schema.get("additionalProperties", True)
        for key, entry in value.items():
            if key in known:
                if not conforms(entry, known[key], root):
                    return False
            elif extra is False or (isinstance(extra, dict) and not conforms(entry, extra, root)):
                return False
        return True
    if kind == "array":
        long_enough = (
            schema.get("minItems", 0) <= len(value) <= schema.get("maxItems", 10**9)
            if isinstance(value, list)
            else False
        )
        return long_enough and all(conforms(v, schema.get("items", {}), root) for v in value)
    types = {"number": (int, float), "integer": int, "string": str, "boolean": bool, "null": type(None)}
    return kind is None or (isinstance(value, types[kind]) and (kind == "boolean" or not isinstance(value, bool)))


INPUTS = {
    "element": WALL,
    "rate": {"kind": "stc", "values_db": [30] * 16},
    "field": {"kind": "impact", "receiving_db": [60] * 16, "reverberation_s": [0.5] * 16, "volume_m3": 30},
    "predict": {
        "volume_m3": 30,
        "spectrum": "speech",
        "separating": [{"name": "wall", "area_m2": 10, "element": WALL, "lining": {"improvement_db": [5] * 21}}],
        "flanking": [
            {
                "name": "side",
                "source": {"element": {"reduction_db": [50] * 21}, "area_m2": 8},
                "receiving": {"element": {"reduction_db": [50] * 21}, "area_m2": 8},
                "junction": {"kind": "rigid_t", "length_m": 2.5},
            }
        ],
        "side_paths": [{"name": "gap", "kind": "leak", "area_mm2": 100, "after": {"sealed": True}}],
    },
    "plan": {
        "volume_m3": 30,
        "separating_area_m2": 10,
        "target_db": 50,
        "surfaces": [
            {
                "name": "wall",
                "transmission": [1e-5] * 21,
                "options": [{"name": "a", "improvement_db": [9] * 21, "cost": "10.00"}],
            }
        ],
    },
}


@pytest.mark.parametrize("verb", INPUTS)
def test_input_and_output_fit_the_schema(verb):
    schema = schema_of(verb)
    assert conforms(INPUTS[verb], schema["input"], schema)
    output = json.loads(json.dumps(VERBS[verb](INPUTS[verb])))
    assert conforms(output, schema["output"], schema)


@pytest.mark.parametrize("verb", INPUTS)
def test_an_input_without_its_required_fields_does_not_fit(verb):
    schema = schema_of(verb)
    assert not conforms({}, schema["input"], schema)


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_prints_its_schema(verb, capsys):
    assert main(["schema", verb]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == verb
