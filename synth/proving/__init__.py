"""Proving: whether anything is smaller than a given layout under the limits that it keeps."""

from synth.proving.kept import LOOSENED, kept_spec
from synth.proving.prover import journal_from, prove, standing

__all__ = ["LOOSENED", "journal_from", "kept_spec", "prove", "standing"]
