"""Turns the TOML parser's messages into a player's words: one table from how a message begins to sentence and mend."""

import re

_SYNTAX: tuple[tuple[str, str, str], ...] = (
    ("Invalid statement", "this line can't be read", "write key = value or a [header]"),
    ("Invalid value", "the value can't be read", "write text in quotes, numbers plain, true or false in small letters"),
    ("Expected newline or end of document", "something is left over at the end of the line", "one key a line"),
    ("Expected '=' after a key", "there is no = after the key", 'a key with spaces goes in "quotes"'),
    ("Expected ']]'", "the header's brackets don't close", "end it with ]]"),
    ("Expected ']'", "the header's bracket doesn't close", "end it with ]"),
    ("Cannot overwrite a value", "this key or table is here twice", "keep one of the two"),
    ("Duplicate inline table key", "this key is in the table twice", "keep one of the two"),
    ("Cannot declare", "this header is here twice", "put both parts under one header"),
    ("Cannot mutate immutable namespace", "this adds to a table written in braces or a list", "write it in one place"),
    ("Cannot redefine namespace", "this adds to a table that is closed already", "write it in one place"),
    ("Invalid initial character for a key", "a key is missing or has a character it can't have", 'put it in "quotes"'),
    ("Unclosed array", "a list doesn't close, or a comma is missing in it", "end it with ]"),
    ("Unclosed inline table", "a table in braces doesn't close on its line, or lacks a comma", "end it with }"),
    ("Unterminated string", "text doesn't close", "end it with the same quotes it begins with"),
    ("Unescaped '\\'", "a backslash in text", "write it twice, or use 'single quotes'"),
    ("Invalid hex value", "an escape in text isn't finished", "write \\u and four hexadecimal digits"),
    ("Escaped character", "an escape in text names no character", "write the character itself"),
    ("Illegal character '\\n'", "text is not closed on its line", "end it with the same quotes it begins with"),
    ("Illegal character", "there is a character that can't stand here", "take it out"),
    ("Invalid date or datetime", "there is no such date or time", "write it as in 2026-11-28"),
    ("Found invalid character", "there is a character that can't stand here", "take it out"),
    ("Expected", "something is missing here", "look at the quotes and brackets"),
)


_STRINGS = re.compile(r"""'[^']*'|"(?:[^"\\]|\\.)*"|#.*|(["'].*)""")
"""Texts that close, and comments: what they hold is nothing to the parser."""
_TYPOGRAPHIC = re.compile("[“”„‟‘’‚‛«»‹›″′]")
_PART = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\]|\\.)*"|'[^']*'""")
_HEADER = re.compile(r"\s*(\[\[?)([^\[\]=#]*)(\]\]?)")


def syntax(message: str, line: str = "", column: int = 1) -> tuple[str, str]:
    """What is wrong and the mend, from the parser's message and the line and column that it stopped at."""
    typographic = _TYPOGRAPHIC.search(_STRINGS.sub(lambda piece: piece[1] or "", line))
    if typographic is not None:
        return f"{typographic[0]} is a typographic quote, which TOML does not know", 'write straight quotes: "…"'
    unquoted = _unquoted(line, column)
    if unquoted is not None:
        return unquoted
    for begins, what, mend in _SYNTAX:
        if message.startswith(begins):
            return what, mend
    return message.partition(" (at ")[0], ""


def _unquoted(line: str, column: int) -> tuple[str, str] | None:
    """A name that needs quotes and has none, in a header or before a =; None where there is none."""
    header = _HEADER.match(line)
    if header is not None:
        opens, name, closes = header.groups()
    else:
        start = max(line.rfind(sign, 0, column - 1) for sign in "{,") + 1
        opens, name, closes = "", line[start:].partition("=")[0], " = …"
        if "=" not in line[start:]:
            return None
    parts = [part.strip() for part in name.split(".")]
    wrong = [part for part in parts if not _PART.fullmatch(part)]
    if not wrong or not all(part.isprintable() and part and not set(part) & set("\"'{}[],#") for part in wrong):
        return None
    quoted = ".".join(f'"{part}"' if part in wrong else part for part in parts)
    has = "a space" if " " in wrong[0] else "other signs than A to Z, 0 to 9, - and _"
    return f"the name {wrong[0]} has {has} and needs quotes", f"write {opens}{quoted}{closes}"
