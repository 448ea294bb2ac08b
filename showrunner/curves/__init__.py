"""From where a control stands to the bytes that go out: travel, shapes, laws, tables, and how all that is drawn."""
