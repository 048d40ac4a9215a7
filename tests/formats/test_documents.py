"""Documents as TOML: the same faults in the same words, whatever the document is."""

import pytest

from pushproof.errors import ConfigurationError
from pushproof.formats.equipment import load_equipment
from pushproof.formats.recipe import load_recipe
from pushproof.planning.document import load_plan
from pushproof.quality.schemes import load_scheme
from pushproof.sources.description import load_description

LOADERS = {
    "recipe": load_recipe,
    "equipment": load_equipment,
    "plan": load_plan,
    "scheme": load_scheme,
    "decoder": load_description,
}


@pytest.mark.parametrize("what", LOADERS)
def test_every_document_says_what_is_wrong_in_the_same_words(what, tmp_path):
    load, path = LOADERS[what], tmp_path / "a.toml"
    with pytest.raises(ConfigurationError, match=rf"^{what} .*a\.toml: no such file"):
        load(path)
    path.write_bytes(b"a = \xff")
    with pytest.raises(ConfigurationError, match=rf"^{what} .*a\.toml: cannot be read"):
        load(path)
    path.write_text("a = = 1")
    with pytest.raises(ConfigurationError, match=rf"^{what} .*a\.toml: not valid TOML"):
        load(path)
    path.write_text("colour = 1\n")
    with pytest.raises(ConfigurationError, match=r"colour: unknown field \(known: \w+"):
        load(path)


def test_a_fault_inside_names_its_place_and_what_is_known_there(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text('[cone]\narea_ration = 0.8\ntip_area = "wide"\n')
    with pytest.raises(ConfigurationError) as caught:
        load_equipment(path)
    assert "cone.area_ration: unknown field (known: serial, model" in str(caught.value)
    assert "cone.tip_area: input should be a valid number" in str(caught.value)
    assert "found 'wide'" in str(caught.value)


def test_a_field_that_lacks_is_named(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text('title = "x"\n')
    with pytest.raises(ConfigurationError, match="norm: is missing"):
        load_scheme(path)
