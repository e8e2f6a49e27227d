"""`stepout check` and `stepout schema`."""

import json

from factories import CASE_TEXT, make_case


def test_every_value_is_shown_with_its_origin(call, case_file):
    done = call("check", case_file)
    used = make_case().used
    assert done.exit_code == 0
    lines = [line.split() for line in done.stdout.splitlines()]
    for path, entry in used.items():
        key = path.partition(".")[2]
        assert any(line[:1] == [key] and entry["origin"] in line for line in lines), path
    assert "umbilical" in done.stdout and "5 km" in done.stdout
    assert done.stdout.splitlines()[-1].startswith(f"quillfen: valid; {len(used)} values")


def test_lines_fit_a_terminal(call, case_file):
    assert max(map(len, call("check", case_file).stdout.splitlines())) <= 100


def test_json_has_the_data_book(call_json, case_file):
    code, told = call_json("check", case_file, "--set", "umbilical.length_km=7")
    assert code == 0 and told["case"] == "quillfen" and told["overrides"] == ["umbilical.length_km=7"]
    assert told["used"] == make_case("umbilical.length_km=7").used
    assert told["case_sha256"] == make_case("umbilical.length_km=7").sha256


def test_mistakes(call, call_json, case_file):
    case_file.write_text(CASE_TEXT.replace("length_km = 5", 'length_km = "5"'))
    done = call("check", case_file)
    assert done.exit_code == 2 and "umbilical.length_km" in done.stderr and done.stdout == ""
    code, told = call_json("check", case_file)
    assert code == 2 and "umbilical.length_km" in told["error"]["mistakes"][0]


def test_warnings_are_shown(call, case_file):
    from sim.case import load_case

    case_file.write_text(CASE_TEXT.replace("ampacity_a = 300", "rated_kv = 3.3"))
    warnings = load_case(case_file).warnings
    shown = " ".join(call("check", case_file).stdout.split())
    assert warnings and all(" ".join(text.split()) in shown for text in warnings)


def test_schema_is_json(call, tmp_path):
    done = call("schema")
    assert done.exit_code == 0
    schema = json.loads(done.stdout)
    assert "cable" in schema["properties"]
    written = call("schema", "--out", tmp_path / "case.schema.json")
    assert written.stdout == "" and json.loads((tmp_path / "case.schema.json").read_text()) == schema


def test_schema_has_nowhere_to_go(call, tmp_path):
    assert call("schema", "--out", tmp_path / "absent" / "schema.json").exit_code == 1
