"""What a claim rests on, in words: a certificate and its folder, or only a solver's answers.

A certificate is named by its folder, relative to that of the store, and by the hash (SHA-256, FIPS
180-4) of its index, which holds the hashes of its other files: ``proofs/xor sha256:9f86d0...``.
"""

from __future__ import annotations

import hashlib
import os
import re
from dataclasses import dataclass
from pathlib import Path

from synth.errors import InputError, reason_of
from synth.proofs.certificate_index import INDEX

_REFERENCE = re.compile(r"(?P<folder>.+) sha256:(?P<sha256>[0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class Reference:
    """A certificate as a store names it.

    Attributes:
        folder: its folder, relative to the folder of the store, with ``/`` between names.
        sha256: the hash of its index, in hexadecimal.
    """

    folder: str
    sha256: str

    def __str__(self) -> str:
        return f"{self.folder} sha256:{self.sha256}"

    @staticmethod
    def read(text: str | None) -> Reference | None:
        """The certificate that a proof names; None if no proof was kept."""
        found = _REFERENCE.fullmatch(text or "")
        return Reference(found["folder"], found["sha256"]) if found else None

    @staticmethod
    def to(folder: str | Path, store: str | Path) -> Reference:
        """The reference to a certificate from a store.

        Raises:
            InputError: if the folder holds no certificate.
        """
        return Reference(_relative(Path(folder), Path(store)), index_hash(folder))

    def path(self, store: str | Path) -> Path:
        """The folder of the certificate."""
        return Path(store).absolute().parent / self.folder

    def is_there(self, store: str | Path) -> bool:
        """Whether the folder exists."""
        try:
            return self.path(store).is_dir()
        except (OSError, ValueError):
            return False  # No folder can have such a name; it may be too long.

    def moved(self, store: str | Path, other: str | Path) -> Reference:
        """The same certificate as another store names it."""
        return Reference(_relative(self.path(store), Path(other)), self.sha256)


def no_proof(solver: str) -> str:
    """What a claim rests on if no proof was kept."""
    return f"answers of {solver}, no proof kept"


def index_hash(folder: str | Path) -> str:
    """The hash of a certificate's index.

    Raises:
        InputError: if it cannot be read.
    """
    try:
        return hashlib.sha256(Path(folder, INDEX).read_bytes()).hexdigest()
    except (OSError, ValueError) as error:
        raise InputError(
            f"no certificate can be read there ({reason_of(error)})",
            file=str(folder),
            way_out="name a folder that 'gatefit solve --certificate' wrote",
        ) from None


def _relative(folder: Path, store: Path) -> str:
    return Path(os.path.relpath(folder.absolute(), store.absolute().parent)).as_posix()
