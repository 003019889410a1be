"""The public schema, against the JSON Schema standard and against our own checker."""

import copy
import json

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.strategies_documents import documents, json_values
from transcribe.document.check import check_document, take_schema
from transcribe.document.text import take_to_json
from transcribe.errors import DocumentError

few = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))


def by_the_standard() -> jsonschema.protocols.Validator:
    """The jsonschema library's reading of our schema: JSON Schema draft 2020-12, Core and Validation."""
    return jsonschema.Draft202012Validator(take_schema())


def places(value, path=()):
    """Every place in a JSON value."""
    yield path
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in children:
        yield from places(item, (*path, key))


def test_it_is_a_valid_2020_12_schema():
    assert take_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(take_schema())


def test_every_key_is_described():
    def described(rule):
        for name, inner in rule.get("properties", {}).items():
            assert inner.get("description") or inner["$ref"].startswith("#/$defs/"), name
            described(inner)

    described(take_schema())
    for name, definition in take_schema()["$defs"].items():
        assert definition["description"], name
        described(definition)


@few
@given(documents())
def test_what_we_write_is_valid_by_the_standard(document):
    by_the_standard().validate(json.loads(json.dumps(take_to_json(document))))


@few
@given(documents(most=3), st.data())
def test_both_checkers_agree_on_damaged_documents(document, data):
    """One place of a good document is replaced or dropped: the standard's verdict and ours must be the same.

    Ours also holds names and strings together, which a schema cannot; such refusals are told apart by their words.
    """
    damaged = copy.deepcopy(take_to_json(document))
    path = data.draw(st.sampled_from([place for place in places(damaged) if place]))
    parent = damaged
    for step in path[:-1]:
        parent = parent[step]
    if isinstance(parent, dict) and data.draw(st.booleans()):
        del parent[path[-1]]
    else:
        parent[path[-1]] = data.draw(json_values)
    standard = by_the_standard().is_valid(damaged)
    try:
        check_document(damaged)
        ours = True
    except DocumentError as error:
        beyond = (
            "same id",
            "which no note has",
            "the note itself",
            "second track",
            "on an instrument of",
            "neck of",
            "begin later",
        )
        ours = any(words in error.found for words in beyond)
    assert ours == standard


@pytest.mark.parametrize("key", ["id", "onset_s", "offset_s", "midi"])
def test_the_four_required_keys_of_a_note(key):
    note = {"id": "n1", "onset_s": 0.0, "offset_s": 0.5, "midi": 64}
    good = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": [64]}, "notes": [note]}
    check_document(good)
    by_the_standard().validate(good)
    del note[key]
    assert not by_the_standard().is_valid(good)
    with pytest.raises(DocumentError, match=f'"{key}" is missing'):
        check_document(good)
