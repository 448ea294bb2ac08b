"""Turns the TOML parser's messages into a player's words: one table from how a message begins to sentence and mend."""

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


def syntax(message: str) -> tuple[str, str]:
    """What is wrong and the mend, from the parser's message."""
    for begins, what, mend in _SYNTAX:
        if message.startswith(begins):
            return what, mend
    return message.partition(" (at ")[0], ""
