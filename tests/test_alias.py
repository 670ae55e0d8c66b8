"""``import gatefit`` gives what ``import synth`` gives."""

from __future__ import annotations

import pytest

import synth
import synth.alias as gatefit


def test_the_names_are_the_same() -> None:
    assert set(gatefit.__all__) == {*synth.__all__, "__version__"}
    for name in gatefit.__all__:
        assert getattr(gatefit, name) is getattr(synth, name)
    assert set(synth.__all__) <= set(dir(gatefit))


def test_what_is_no_name_of_ours_is_none_of_its() -> None:
    with pytest.raises(AttributeError, match="nothing_like_it"):
        gatefit.nothing_like_it  # noqa: B018
