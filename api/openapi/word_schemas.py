"""Lists of words that stand in several schemas, each once and by its name."""

import re
from collections.abc import Iterator
from typing import Any

from api.json_schema import SHARED

SYSTEMS = ("Ip", "Si")
REF = "#/components/schemas/"


def share(made: dict[str, Any]) -> None:
    """Rewrite a document, in place, with its shared schemas last, and words by name."""
    schemas = made["components"]["schemas"]
    for name in sorted(name for name, schema in schemas.items() if schema.pop(SHARED, False)):
        schemas[name] = schemas.pop(name)
    _hoist(made)
    _tell_apart(made, schemas)


def _nodes(node: Any) -> Iterator[dict[str, Any]]:
    """Yield every object of a document, the inner ones first."""
    inner = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    for one in list(inner):
        yield from _nodes(one)
    if isinstance(node, dict):
        yield node


Place = tuple[Any, Any, str, str]  # holder and key of a schema, its member and owner


def _hoist(made: dict[str, Any]) -> None:
    """Put a reference in place of every list of words, and a constant in place of one word.

    Words of several objects are named by the member alone, others by object and member.
    """
    schemas = made["components"]["schemas"]
    owners: dict[tuple[str, ...], dict[str, str]] = {}
    places = list(_word_places(made))
    for holder, key, member, owner in places:
        owners.setdefault(_words(holder[key]), {})[_stem(owner)] = member
    names: dict[tuple[str, ...], str] = {}
    parameters = {_words(holder[key]) for holder, key, _, _ in places if key == "schema"}
    for words, found in owners.items():
        if len(words) > 1 or words in parameters:
            owner, member = min(found.items(), key=lambda one: len(one[1]))
            tried = (_title(member), owner + _title(member))[0 if len(found) > 1 else 1 :]
            names[words] = next(one for one in (*tried, f"{tried[-1]}Word") if one not in schemas)
            schemas[names[words]] = {"type": "string", "enum": list(words)}
    for holder, key, _, _ in places:
        holder[key] = _referring(holder[key], names)


def _word_places(made: dict[str, Any]) -> Iterator[Place]:
    """Yield where a closed list of words stands."""
    for owner, schema in made["components"]["schemas"].items():
        yield from _in(schema, owner)
    for operations in made["paths"].values():
        for operation in operations.values():
            owner = _title(operation["operationId"].partition("-")[2])
            for one in operation.get("parameters", []):
                if "enum" in one["schema"]:
                    yield one, "schema", one["name"], owner
                if "enum" in one["schema"].get("items", {}):
                    yield one["schema"], "items", one["name"], owner


def _in(schema: dict[str, Any], owner: str) -> Iterator[Place]:
    for member, inner in schema.get("properties", {}).items():
        if "enum" in inner:
            yield schema["properties"], member, member, owner
        for key in ("items", "additionalProperties"):
            if isinstance(inner.get(key), dict) and "enum" in inner[key]:
                yield inner, key, member, owner
        for at, one in enumerate(inner.get("anyOf", [])):
            if "enum" in one:
                yield inner["anyOf"], at, member, owner
        yield from _in(inner, owner)


def _words(schema: dict[str, Any]) -> tuple[str, ...]:
    return tuple(word for word in schema["enum"] if word is not None)


def _referring(schema: dict[str, Any], names: dict[tuple[str, ...], str]) -> dict[str, Any]:
    words = _words(schema)
    rest = {k: v for k, v in schema.items() if k not in ("type", "enum")}
    if words not in names:
        return {"type": schema["type"], "const": words[0], **rest}
    ref = {"$ref": REF + names[words]}
    if None in schema["enum"]:
        return {"oneOf": [ref, {"type": "null"}], **rest}
    return {"allOf": [ref], **rest} if rest else ref


def _stem(name: str) -> str:
    return name[:-2] if name.endswith(SYSTEMS) else name


def _title(name: str) -> str:
    return "".join(part[:1].upper() + part[1:] for part in re.split(r"[-_]", name))


def _tell_apart(made: dict[str, Any], schemas: dict[str, Any]) -> None:
    """Name the member that tells the objects of a choice apart, where one does."""
    for node in _nodes(made):
        key = "oneOf" if "oneOf" in node else "anyOf"
        options = node.get(key)
        if not isinstance(options, list) or not all("$ref" in one for one in options):
            continue
        names = [one["$ref"].removeprefix(REF) for one in options]
        told = [
            {k: v["const"] for k, v in schemas[name].get("properties", {}).items() if "const" in v}
            for name in names
        ]
        for member in told[0]:
            words = [one.get(member) for one in told]
            if None not in words and len(set(words)) == len(words):
                mapping = {word: REF + name for word, name in zip(words, names, strict=True)}
                node[key if key == "oneOf" else "oneOf"] = node.pop(key)
                node["discriminator"] = {"propertyName": member, "mapping": mapping}
