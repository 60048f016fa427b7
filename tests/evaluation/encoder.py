"""Make ``models/voices/encoder.npz`` again: ``python -m tests.evaluation.encoder PACKAGE.whl [TARGET.npz]``.

PACKAGE.whl is Resemblyzer 0.1.4 (``pip download --no-deps resemblyzer==0.1.4``), whose weights are Apache-2.0.
They are read without the framework that wrote them; nothing in the file is run.
"""

from __future__ import annotations

import io
import pickle
import sys
import zipfile
from collections import OrderedDict
from pathlib import Path
from typing import Any

import numpy as np

PLACE = "resemblyzer/pretrained.pt"
TARGET = Path(__file__).parents[2] / "models" / "voices" / "encoder.npz"


class _Reader(pickle.Unpickler):
    """Knows tensors and ordered dictionaries, and refuses everything else."""

    def find_class(self, module: str, name: str) -> Any:
        if (module, name) == ("collections", "OrderedDict"):
            return OrderedDict
        if (module, name) == ("torch._utils", "_rebuild_tensor_v2"):
            return lambda storage, offset, size, *_: (storage, offset, size)
        if module == "torch" and name.endswith("Storage"):
            return name
        raise pickle.UnpicklingError(f"{module}.{name} has no place in weights")

    def persistent_load(self, pid: Any) -> Any:
        return pid[2]


def weights(data: bytes) -> dict[str, np.ndarray[Any, Any]]:
    """Read the tensors of a model saved in the framework's first format: pickles, then each storage's numbers."""
    file = io.BytesIO(data)
    for _ in range(3):
        _Reader(file).load()  # a magic number, the format's version, sizes of the machine's numbers
    state = _Reader(file).load()["model_state"]
    storages = {}
    for key in _Reader(file).load():
        count = int.from_bytes(file.read(8), "little")
        storages[key] = np.frombuffer(file.read(4 * count), "<f4")
    return {
        name: storages[key][offset : offset + int(np.prod(size))].reshape(size)
        for name, (key, offset, size) in state.items()
    }


def main() -> None:
    """Convert, leaving out what only training needs."""
    with zipfile.ZipFile(sys.argv[1]) as package:
        found = weights(package.read(PLACE))
    kept = {
        name.removeprefix("lstm."): tensor.astype(np.float16)
        for name, tensor in found.items()
        if not name.startswith("similarity")
    }
    target = Path(sys.argv[2]) if len(sys.argv) > 2 else TARGET
    with target.open("wb") as out:
        np.savez_compressed(out, **kept)  # type: ignore[arg-type]
    print(f"{target}: {sum(tensor.size for tensor in kept.values()):,} weights")


if __name__ == "__main__":
    main()
