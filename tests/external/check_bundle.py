"""Checks a bundle by what the guide's page on evidence says, with nothing but Python's own library.

python check_bundle.py FILE [N:HEX]: silent where all is well, else the first thing that is not as described.
"""

import hashlib
import json
import pathlib
import struct
import sys
import zlib

FILES = {"photo": "sha256", "heat-run": "sha256", "flex": "sha256", "leak": "sha256", "sweep": "sha256"}


def sha(raw):
    return hashlib.sha256(raw).hexdigest()


def must(holds, what):
    if not holds:
        raise ValueError(what)


def front(name, raw):
    sizes = (zlib.crc32(raw), len(raw), len(raw), len(name), 0)
    return b"PK\x03\x04" + struct.pack("<5H3I2H", 10, 0, 0, 0, 33, *sizes) + name.encode() + raw


def whole(files):
    parts, listed, at = b"", b"", 0
    for name, raw in files:
        sizes = (zlib.crc32(raw), len(raw), len(raw), len(name))
        listed += b"PK\x01\x02" + struct.pack("<6H3I5H2I", 20, 10, 0, 0, 0, 33, *sizes, 0, 0, 0, 0, 0, at)
        listed += name.encode()
        parts += front(name, raw)
        at = len(parts)
    return parts + listed + b"PK\x05\x06" + struct.pack("<4H2IH", 0, 0, len(files), len(files), len(listed), at, 0)


def take(raw, at):
    size, name = struct.unpack_from("<I", raw, at + 18)[0], struct.unpack_from("<H", raw, at + 26)[0]
    return raw[at + 30 + name : at + 30 + name + size], at + 30 + name + size


def check(raw, head=None):
    manifest_raw, at = take(raw, 0)
    manifest, files = json.loads(manifest_raw), [("manifest.json", manifest_raw)]
    for one in manifest["members"]:
        data, at = take(raw, at)
        must((one["bytes"], one["sha256"]) == (len(data), sha(data)), one["name"])
        must(one["name"] in ("journal.jsonl", f"blobs/{sha(data)}"), one["name"])
        files.append((one["name"], data))
    must(raw == whole(files), "not the bytes of these files")
    must([name for name, _ in files[1:]] == ["journal.jsonl", *sorted({name for name, _ in files[2:]})], "order")
    *lines, rest = files[1][1].split(b"\n")
    entries, hashes = [json.loads(line) for line in lines], [sha(line) for line in lines]
    must(rest == b"", "half a line at the end")
    for n, (entry, before) in enumerate(zip(entries, ["0" * 64, *hashes], strict=False), 1):
        must(set(entry) == {"n", "at", "by", "kind", "body", "prev"}, n)
        must((entry["n"], entry["prev"], entry["kind"] == "open-job") == (n, before, n == 1), n)
        named = entry["body"].get("variant" if n == 1 else FILES.get(entry["kind"], ""))
        must(named is None or f"blobs/{named}" in dict(files), f"line {n}: its file is missing")
    last = next((entry["n"] for entry in entries if entry["kind"] == "close"), len(entries))
    told = [manifest["bundle"], manifest["session"], manifest["entries"], manifest["head"]]
    must(told == [1, entries[0]["body"]["session"], len(entries), f"{last}:{hashes[last - 1]}"], "the manifest")
    if head is not None:
        n, _, digits = head.partition(":")
        must(hashes[int(n) - 1].startswith(digits), "another head")


if __name__ == "__main__":
    check(pathlib.Path(sys.argv[1]).read_bytes(), *sys.argv[2:3])
