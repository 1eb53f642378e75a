"""Checks a bundle of evidence by docs/BUNDLES.md, and by nothing else. Prints what it is
about and how many entries it holds; every fault is a line, and then the exit code is 1.

    python bundle_check.py FOLDER_OR_ZIP [FINGERPRINT]

What it can't do is fold the entries into the statement: that takes the program itself.
"""

import json
import os
import re
import sys
import zipfile

from blake3 import blake3
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

KNOWN = {"manifest.json", "manifest.sig"}


def field(content):
    return len(content).to_bytes(8, "little") + content


def number(value):
    return field(value.to_bytes(8, "little"))


def text(value):
    return field(value.encode())


def files_of(path):
    """All files by their names."""
    if zipfile.is_zipfile(path):
        with zipfile.ZipFile(path) as archive:
            names = archive.namelist()
            if len({name.lower() for name in names}) != len(names):
                raise ValueError("two members have one name")
            return {name: archive.read(name) for name in names}
    found = {}
    for here, _, names in os.walk(path):
        for name in names:
            file = os.path.join(here, name)
            with open(file, "rb") as opened:
                found[os.path.relpath(file, path).replace(os.sep, "/")] = opened.read()
    return found


def is_signed(key, message, signature):
    try:
        Ed25519PublicKey.from_public_bytes(key).verify(signature, message)
    except (InvalidSignature, ValueError):
        return False
    return True


def fingerprint(key):
    digest = blake3(text("turnbuckle/ledger/key/1") + field(key)).hexdigest()
    return " ".join(digest[at : at + 4] for at in range(0, 32, 4))


def check_manifest(files, known):
    lines = dict(line.split(": ") for line in files["manifest.sig"].decode().splitlines())
    key, signature = bytes.fromhex(lines["key"]), bytes.fromhex(lines["signature"])
    message = text("turnbuckle/bundle/1") + field(files["manifest.json"])
    if not is_signed(key, message, signature):
        yield "manifest.json is not what was signed"
    if known is not None and known.replace(" ", "") != fingerprint(key).replace(" ", ""):
        yield f"it is signed by another key, {fingerprint(key)}"


def check_files(files, manifest):
    listed = {file["name"]: file for file in manifest["files"]}
    for name in sorted(set(files) ^ (set(listed) | KNOWN)):
        yield f"{name} is missing, or not in the manifest"
    for name in sorted(set(files) & set(listed)):
        file = listed[name]
        if (len(files[name]), blake3(files[name]).hexdigest()) != (
            file["bytes"],
            file["blake3"],
        ):
            yield f"{name} was changed"


def digest_of(entry):
    request = entry["request"]
    version = "1" if request is None else "2"
    message = (
        text("turnbuckle/ledger/entry/" + version)
        + field(bytes.fromhex(entry["before"]))
        + number(entry["number"])
        + number(entry["batch"])
        + text(entry["at"])
        + text(entry["by"])
        + text(entry["kind"])
        + number(entry["version"])
        + text(entry["body"])
    )
    return blake3(message + (b"" if request is None else text(request))).hexdigest()


def check_entries(entries):
    last = None
    for entry in entries:
        if digest_of(entry) != entry["digest"]:
            yield f"entry {entry['number']} was changed"
        if last is not None:
            step = entry["number"] - last["number"]
            if step < 1 or (step == 1 and entry["before"] != last["digest"]):
                yield f"entry {entry['number']} does not follow {last['number']}"
        last = entry


def checkpoint_of(content):
    lines = content.decode().splitlines()
    names = ["ledger", "entry", "digest", "at", "key", "signature"]
    if lines[0] != "turnbuckle ledger checkpoint 1" or len(lines) != 1 + len(names):
        raise ValueError("checkpoint.txt is no checkpoint")
    values = {}
    for name, line in zip(names, lines[1:]):
        if not line.startswith(name + ": "):
            raise ValueError(f"checkpoint.txt lacks {name}")
        values[name] = line[len(name) + 2 :]
    return values


def check_head(manifest, checkpoint, entries):
    ledger, last = bytes.fromhex(checkpoint["ledger"]), int(checkpoint["entry"])
    digest, key = bytes.fromhex(checkpoint["digest"]), bytes.fromhex(checkpoint["key"])
    message = (
        text("turnbuckle/ledger/checkpoint/1")
        + field(ledger)
        + number(last)
        + field(digest)
        + text(checkpoint["at"])
    )
    if not is_signed(key, message, bytes.fromhex(checkpoint["signature"])):
        yield "checkpoint.txt is not what was signed"
    if manifest["head"] != {"entry": last, "digest": checkpoint["digest"]}:
        yield "the manifest and the checkpoint name different heads"
    if entries and entries[-1]["number"] > last:
        yield "there are entries beyond the head"
    if entries and entries[-1]["number"] == last:
        if entries[-1]["digest"] != checkpoint["digest"]:
            yield "the last entry is not the head"
    if manifest["about"]["kind"] == "gate":
        start = blake3(text("turnbuckle/ledger/start/1") + field(ledger)).hexdigest()
        numbers = [entry["number"] for entry in entries]
        if numbers != list(range(1, last + 1)) or entries[0]["before"] != start:
            yield "not every entry from the first is there"


def peeled(body):
    """The seal of a body, if it has one, and what it says."""
    found = re.fullmatch(r'\{"seal":"([^"]*)","body":(.*)\}', body, re.DOTALL)
    return (found[1], found[2]) if found else (None, body)


def check_seals(ledger, entries):
    keys, seen = {}, set()
    for entry in entries:
        seal, body = peeled(entry["body"])
        by, name = entry["by"], f"entry {entry['number']}"
        if (by in keys) != (seal is not None):
            yield f"{name} is sealed without a key, or not sealed with it"
        elif seal is not None:
            message = text(ledger) + text(by) + text(entry["at"]) + text(entry["kind"])
            message += number(entry["version"]) + text(body)
            message = text("turnbuckle/seal/1") + field(message)
            proof = bytes.fromhex(seal) if re.fullmatch("[0-9a-f]{128}", seal) else b""
            if not is_signed(keys[by], message, proof):
                yield f"the seal of {name} is forged"
            if seal in seen:
                yield f"{name} is a copy"
            seen.add(seal)
        if entry["kind"] == "act.enrol":
            enrol = json.loads(body)
            keys[enrol["person"]] = bytes.fromhex(enrol["key"])


def faults_of(files, known):
    yield from check_manifest(files, known)
    manifest = json.loads(files["manifest.json"])
    if manifest["format"] != 1:
        yield f"format {manifest['format']} is not known here"
        return
    yield from check_files(files, manifest)
    lines = files["entries.jsonl"].decode().split("\n")
    entries = [json.loads(line) for line in lines if line]
    yield from check_entries(entries)
    checkpoint = checkpoint_of(files["checkpoint.txt"])
    yield from check_head(manifest, checkpoint, entries)
    yield from check_seals(checkpoint["ledger"], entries)
    about = manifest["about"]
    print(f"{about['kind']} {about['name']}: {len(entries)} entries")


def main(path, known=None):
    wrong = 0
    try:
        for fault in faults_of(files_of(path), known):
            print(f"fault: {fault}")
            wrong = 1
    except (ValueError, KeyError, IndexError, TypeError, zipfile.BadZipFile) as error:
        print(f"fault: {type(error).__name__}: {re.sub(r'[^ -~]', '?', str(error))}")
        wrong = 1
    sys.exit(wrong)


if __name__ == "__main__":
    main(*sys.argv[1:])
