"""Finished work is found again, and a cut line costs one piece only."""

from pathlib import Path

from segmenter.cache import LineJournal, StageCache


def test_keeps_only_the_latest_key_of_a_stage(tmp_path: Path) -> None:
    cache = StageCache(tmp_path)
    cache.put("sound", "a" * 64, "one")
    assert cache.get("sound", "a" * 64) == "one"
    cache.put("sound", "b" * 64, "two")
    assert cache.get("sound", "b" * 64) == "two"
    assert len(list(tmp_path.iterdir())) == 1


def test_a_cut_journal_keeps_all_whole_lines(tmp_path: Path) -> None:
    path = tmp_path / "words.jsonl"
    journal = LineJournal(path)
    for n in range(5):
        journal.put(f"k{n}", f"é {n}")
    whole = path.read_bytes()
    for cut in range(len(whole)):
        path.write_bytes(whole[:cut])
        resumed = LineJournal(path)
        known = [n for n in range(5) if resumed.get(f"k{n}") is not None]
        assert known == list(range(len(known)))
        resumed.put("later", "x")
        again = LineJournal(path)
        assert again.get("later") == "x"
        assert [n for n in range(5) if again.get(f"k{n}") == f"é {n}"] == known
