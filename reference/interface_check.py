"""Holds the JSON interface against its own description, with schemathesis.

    python reference/interface_check.py http://127.0.0.1:PORT TOKEN SECRET

Requests are drawn from the description, ones that fit it and ones that do not. Whatever is
sent, an answer must have a status, a media type and a shape that the description has for it,
and never be an error of the server's own; what does not fit must be refused, and nothing is
told to whoever has no token. The draws are the same each time.
"""

import subprocess
import sys
from pathlib import Path

CHECKS = [
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_schema_conformance",
    "response_headers_conformance",
    "negative_data_rejection",
    "unsupported_method",
    "ignored_auth",
]


def main(url, token, _secret):
    program = Path(sys.executable).parent / "schemathesis"
    command = [
        str(program),
        "run",
        f"{url}/api/openapi.json",
        "--header",
        f"Authorization: Bearer {token}",
        "--checks",
        ",".join(CHECKS),
        "--phases",
        "examples,coverage,fuzzing",
        "--max-examples",
        "15",
        "--seed",
        "1",
        "--generation-deterministic",
        "--warnings",
        "off",
        "--no-color",
        "--continue-on-failure",
        "--suppress-health-check",
        "all",
        "--request-timeout",
        "30",
    ]
    return subprocess.run(command, check=False).returncode


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
