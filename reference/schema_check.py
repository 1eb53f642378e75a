"""Judges JSON documents by a JSON Schema, with the library `jsonschema`.

    python schema_check.py SCHEMA < texts.json

Reads a list of texts and prints for each of them one line: `valid`, `no JSON` or `invalid` with
a place. The schema itself has to be one of draft 2020-12.
"""

import json
import sys

from jsonschema import Draft202012Validator


def refuse(constant):
    raise ValueError(f"{constant} is no JSON")


def verdict(validator, text):
    try:
        document = json.loads(text, parse_constant=refuse)
    except (ValueError, RecursionError):
        return "no JSON"
    mistake = next(validator.iter_errors(document), None)
    return "valid" if mistake is None else f"invalid {mistake.json_path}"


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        schema = json.load(file)
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    for text in json.load(sys.stdin):
        print(json.dumps(verdict(validator, text)))


if __name__ == "__main__":
    main()
