"""A few hundred texts that break careless searches, our own; each is something a person or a scanner could type."""

from __future__ import annotations

import itertools

_SIGNS = "\"'`*()[]{}<>^~:;,.!?@#$%&|\\/+-=_\x00\t\r\n\x1b\x7f\ufffe\ufeff\u200b\u202e\ue000\uf8ff"
_WORDS = (
    *("AND", "OR", "NOT", "NEAR", "NEAR(a b, 5)", "a NEAR b", "MATCH", "rowid", "w:", "w : x", "{w} : x", "- w : x"),
    *("QV-0418", "5HV-20105-B", "1e2", "0x41", "-0418", "+5", "--", "---", "/*", "*/", "-- x", "; --", "');"),
    *("' OR '1'='1", '" OR ""="', "1; DROP TABLE session", "'); DELETE FROM journal;--", "%", "_", "%%", "a%b_c"),
    *("x' UNION SELECT * FROM meta --", "\\' OR 1=1", "?", "?1", ":x", "@x", "$x", "NULL", "null", "NaN", "inf"),
    *(
        '"',
        '""',
        '"""',
        '"a',
        'a"',
        '"a b"',
        "^a",
        "a^",
        "a*",
        "*a",
        "a * b",
        "**",
        "a b*",
        '"a"*',
        "(a",
        "a)",
        "((a))",
    ),
    *(
        "Straße",
        "STRASSE",
        "ﬁlter",
        "ＱＶ",
        "ǅ",
        "ı",
        "İ",
        "ß",
        "ẞ",
        "é",
        "e\u0301",
        "ａ\u3099",
        "한글",
        "한글",
        "कि",
        "ไทย",
    ),
    *(
        "\u202eabc",
        "a\u200db",
        "👍🏽",
        "🇩🇪",
        "\U0001e900",
        "\U00020000",
        "\U000f0000x",
        "\ud800",
        "a\udfffb",
        "\x00",
        "a\x00b",
    ),
    *("\ue000v3", "\ue000r1 AND", "v3", "r1", " ", "\u00a0", "\u3000", "", "a" * 64, "a" * 65, "a" * 5000, "a " * 5000),
    *("a-" * 3000, '"' * 999, "(" * 999, "é" * 3000, "\U0001d54f" * 300, "ÅÄÖ", "℃", "½", "²", "Ⅷ", "٣", "१२"),
)


def tricky() -> tuple[str, ...]:
    """Every word, every sign alone, before, behind and inside a word, and every pair of the worst signs."""
    single = [made for sign in _SIGNS for made in (sign, f"{sign}ab", f"ab{sign}", f"a{sign}b", f"ab {sign} cd")]
    pairs = ["".join(pair) for pair in itertools.product("\"'*()-:^\x00", repeat=2)]
    return tuple(dict.fromkeys([*_WORDS, *single, *pairs]))
