"""A recipe may say how sure a fitted factor is."""

import pytest
from pydantic import ValidationError

from pushproof.model.recipe import Factors, Recipe


def test_a_spread_is_kept_and_changes_the_fingerprint():
    fitted = Recipe(factors=Factors(Nkt=15.2), factor_spread={"Nkt": 1.1})
    assert fitted.factor_spread == {"Nkt": 1.1}
    assert fitted.fingerprint() != Recipe(factors=Factors(Nkt=15.2)).fingerprint()


def test_every_wrong_spread_is_named():
    with pytest.raises(ValidationError, match=r"no factor is named Nkq.*Ndu: 0 is not above zero"):
        Recipe(factor_spread={"Nkq": 1.0, "Ndu": 0.0})
