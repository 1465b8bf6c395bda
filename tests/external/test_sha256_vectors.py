"""The program's SHA-256 against published values: it is what every chain, blob and bundle stands on."""

from __future__ import annotations

from pathlib import Path

import pytest

from valvebench.model.entry import sha256_of

# FIPS 180-2, appendix B (the examples FIPS 180-4 refers to), from memory; the empty message is also CAVP's first.
FIPS_180 = {
    "one block": (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    "two blocks": (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
    "a million": (b"a" * 10**6, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    "nothing": (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
}


@pytest.mark.parametrize("name", FIPS_180)
def test_the_examples_of_the_standard(name):
    raw, digest = FIPS_180[name]
    assert sha256_of(raw) == digest


def vectors(name: str) -> str:
    """A file of NIST's validation program (CAVP), which the registry package `cryptography-vectors` carries."""
    package = pytest.importorskip("cryptography_vectors", reason="the extra 'vectors' is not installed")
    return (Path(package.__file__).parent / "hashes" / "SHA2" / name).read_text("ascii")


def fields(text: str, name: str) -> list[str]:
    """The values of all lines of one name, in order."""
    return [line.partition("=")[2].strip() for line in text.splitlines() if line.split("=")[0].strip() == name]


@pytest.mark.parametrize(("name", "count"), [("SHA256ShortMsg.rsp", 65), ("SHA256LongMsg.rsp", 64)])
def test_messages_of_the_validation_program(name, count, record_property):
    text = vectors(name)
    found = list(zip(fields(text, "Len"), fields(text, "Msg"), fields(text, "MD"), strict=True))
    for bits, message, digest in found:
        assert sha256_of(bytes.fromhex(message)[: int(bits) // 8]) == digest
    record_property("row 17", f"{name}: {len(found)} of {len(found)}")
    assert len(found) == count


def test_the_hundred_rounds_of_the_validation_program(record_property):
    """Each of a thousand hashes chained, as the Secure Hash Algorithm Validation System describes it."""
    text = vectors("SHA256Monte.rsp")
    (seed,), digests = [bytes.fromhex(found) for found in fields(text, "Seed")], fields(text, "MD")
    assert len(digests) == 100
    for digest in digests:
        last = [seed, seed, seed]
        for _ in range(1_000):
            last = [*last[1:], bytes.fromhex(sha256_of(b"".join(last)))]
        seed = last[-1]
        assert seed.hex() == digest
    record_property("row 17", "SHA256Monte.rsp: 100 of 100")
