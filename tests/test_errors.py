"""Every error says what, where and what next, and can cross a process border."""

import pickle

import pytest

from segmenter import errors


@pytest.mark.parametrize("kind", [errors.SegmenterError, *errors.SegmenterError.__subclasses__()])
def test_errors_survive_pickling(kind: type[errors.SegmenterError]) -> None:
    error = kind("it broke", "here.txt", "Mend it")
    copy = pickle.loads(pickle.dumps(error))  # noqa: S301
    assert type(copy) is kind
    assert str(copy) == "here.txt: it broke. Mend it"
    assert (copy.problem, copy.where, copy.advice) == ("it broke", "here.txt", "Mend it")
