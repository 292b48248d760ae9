#!/usr/bin/env python3
"""Checks specs against the schema that the command prints, by the package jsonschema.

    check_schema.py SCHEMA.json SPEC.toml...

The schema must itself be one, take every spec, and refuse each spec once a key that
no spec has is put into it, at the top or in the body.
"""

import json
import sys
import tomllib
from pathlib import Path

from jsonschema import Draft202012Validator


def main(arguments):
    if len(arguments) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    schema = json.loads(Path(arguments[0]).read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)

    failed = 0
    for path in arguments[1:]:
        spec = tomllib.loads(Path(path).read_text(encoding="utf-8"))
        faults = [f"{fault.json_path}: {fault.message}" for fault in validator.iter_errors(spec)]
        body = spec["body"] | {"no-such-key": 1}
        for spoilt in [spec | {"no-such-key": 1}, spec | {"body": body}]:
            if validator.is_valid(spoilt):
                faults.append("a key that no spec has is let through")
        for fault in faults:
            print(f"FAIL {path}: {fault}")
        failed += bool(faults)
        if not faults:
            print(f"ok   {path}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
