"""When a record cannot be made: one sentence for the person who asked for it."""

from __future__ import annotations


class RecordTrouble(Exception):  # noqa: N818 - the world's trouble, named as people name it
    """The record cannot be printed or sealed now; `sentence` says what is missing."""

    def __init__(self, sentence: str) -> None:
        self.sentence = sentence
        super().__init__(sentence)
