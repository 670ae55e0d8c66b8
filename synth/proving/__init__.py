"""A layout is given: is there anything smaller under the limits that it keeps?"""

from synth.proving.kept import LOOSENED, kept_spec
from synth.proving.prover import journal_from, prove, standing

__all__ = ["LOOSENED", "journal_from", "kept_spec", "prove", "standing"]
