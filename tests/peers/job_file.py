"""Holds the job file's JSON Schema against a general-purpose validator (the jsonschema package from PyPI): the invented
houses fit it, and every slip in fixtures/job-file-slips.json is refused. The Rust reader is held against the same slips
in tests/tests/job_file.rs."""

import copy
import json
import pathlib
import sys

import jsonschema

fixtures = pathlib.Path(__file__).resolve().parents[2] / "fixtures"
schema = json.loads((fixtures / "job-file.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
houses = sorted((fixtures / "houses").glob("*.json"))
failed = 0
for path in houses:
    for problem in validator.iter_errors(json.loads(path.read_text())):
        failed += 1
        print(f"{path.name}: {problem.json_path}: {problem.message}")
base = json.loads(houses[0].read_text())
slips = json.loads((fixtures / "job-file-slips.json").read_text())
for pointer, value in slips:
    slip = copy.deepcopy(base)
    *parents, key = pointer.strip("/").split("/")
    at = slip
    for step in parents:
        at = at[int(step)] if isinstance(at, list) else at[step]
    at[key] = value
    if validator.is_valid(slip):
        failed += 1
        print(f"the schema takes the slip at {pointer}")
print(f"job file schema: {len(houses)} houses, {len(slips)} slips")
print(f"{len(houses) + len(slips) - failed} passed, {failed} failed")
sys.exit(failed > 0)
