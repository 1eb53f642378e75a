"""Walks a ledger file by the format that the head of ledger::chain tells, and by nothing
else; prints the number and the digest of its last entry. Fails where an entry doesn't fit.

    python ledger_chain.py FILE
"""

import sqlite3
import sys

from blake3 import blake3


def field(content):
    return len(content).to_bytes(8, "little") + content


def number(value):
    return field(value.to_bytes(8, "little"))


def main(path):
    db = sqlite3.connect(path)
    ledger, head_number, head_digest = db.execute(
        "SELECT ledger, head_number, head_digest FROM meta"
    ).fetchone()
    last = 0
    digest = blake3(field(b"turnbuckle/ledger/start/1") + field(ledger)).digest()
    for n, batch, at, by, kind, version, body, stored, request in db.execute(
        "SELECT number, batch, recorded_at, recorded_by, kind, version, body, digest, "
        "request FROM entries ORDER BY number"
    ):
        tag = b"turnbuckle/ledger/entry/" + (b"1" if request is None else b"2")
        digest = blake3(
            field(tag)
            + field(digest)
            + number(n)
            + number(batch)
            + field(at.encode())
            + field(by.encode())
            + field(kind.encode())
            + number(version)
            + field(body)
            + (b"" if request is None else field(request.encode()))
        ).digest()
        if n != last + 1 or digest != stored:
            sys.exit(f"entry {n} doesn't fit")
        last = n
    if (last, digest) != (head_number, head_digest):
        sys.exit("the head doesn't fit")
    print(last, digest.hex())


main(sys.argv[1])
