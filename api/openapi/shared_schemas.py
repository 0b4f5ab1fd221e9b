"""One schema where two would be alike, with a name: lists of words, parts that differ in units.

A class has a schema for each system of units. The two schemas of a reply differ in units alone, and
those of some parts of requests not at all: each such pair becomes one schema. The two of any other
request differ in their bounds, and stay two.
"""

import re
from collections.abc import Iterator
from typing import Any

SYSTEMS = ("Ip", "Si")
REF = "#/components/schemas/"
_UNIT = re.compile(r"Unit: (.+?)\.(?= |$)")
_LOWER, _HIGHER = ("minimum", "exclusiveMinimum"), ("maximum", "exclusiveMaximum")


def share(made: dict[str, Any], replies: set[str]) -> None:
    """Rewrite a document with one schema for each pair that may be one, and words by name.

    Parameters
    ----------
    made : dict
        The OpenAPI document, changed in place.
    replies : set of str
        Names of the schemas that are only written.
    """
    schemas = made["components"]["schemas"]
    for stem in sorted(_alike(schemas, replies)):
        ip, si = (schemas.pop(stem + system) for system in SYSTEMS)
        schemas[stem] = merged(ip, si)
    names = {stem + system: stem for stem in schemas for system in SYSTEMS}
    names = {old: new for old, new in names.items() if old not in schemas}
    made.update(_renamed(made, names))
    _hoist(made)
    _tell_apart(made, made["components"]["schemas"])


def _alike(schemas: dict[str, Any], replies: set[str]) -> set[str]:
    """Return the stems of the pairs that may be one: of replies, or the same but for names."""
    stems = {
        name.removesuffix("Ip")
        for name in schemas
        if name.endswith("Ip") and name.removesuffix("Ip") + "Si" in schemas
    }
    same = {one for one in stems if f"{one}Ip" in replies}
    own = {
        one for one in stems - same if _plain(schemas[f"{one}Ip"]) == _plain(schemas[f"{one}Si"])
    }
    while two := {one for one in own if not _stems(schemas[f"{one}Ip"]) <= own | same}:
        own -= two
    return same | own


def _plain(schema: Any) -> Any:
    return _renamed(schema, {f"{name}{s}": name for name in _stems(schema) for s in SYSTEMS})


def _stems(schema: Any) -> set[str]:
    names = {node["$ref"].removeprefix(REF) for node in _nodes(schema) if "$ref" in node}
    return {name[:-2] for name in names if name.endswith(SYSTEMS)}


def _nodes(node: Any) -> Iterator[dict[str, Any]]:
    """Yield every object of a document, the inner ones first."""
    inner = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    for one in list(inner):
        yield from _nodes(one)
    if isinstance(node, dict):
        yield node


def merged(ip: Any, si: Any) -> Any:
    """Return what two schemas say that differ in their units and in the names of their parts."""
    if isinstance(ip, list):
        return [merged(*pair) for pair in zip(ip, si, strict=True)]
    if not isinstance(ip, dict):
        return ip
    found = {key: merged(ip[key], si[key]) for key in ip if key in si}
    for key in ip.keys() & si.keys():
        if key == "enum" and ip[key] != si[key]:
            found[key] = [*ip[key], *si[key]]
        elif key in (*_LOWER, *_HIGHER):
            found[key] = (min if key in _LOWER else max)(ip[key], si[key])
        elif key == "description" and isinstance(ip[key], str) and ip[key] != si[key]:
            other = _UNIT.search(si[key])
            found[key] = _UNIT.sub(rf"Unit: \1, in SI {other[1]}.", ip[key]) if other else ip[key]
    if ip.get("x-unit") != si.get("x-unit"):
        found["x-unit"] = {"ip": ip.get("x-unit", ""), "si": si.get("x-unit", "")}
    return found


def _renamed(node: Any, names: dict[str, str]) -> Any:
    """Return a document with other names in its references; the same one twice becomes one."""
    if isinstance(node, list):
        return [_renamed(one, names) for one in node]
    if not isinstance(node, dict):
        return node
    new = {key: _renamed(value, names) for key, value in node.items()}
    if isinstance(new.get("$ref"), str):
        stem = new["$ref"].removeprefix(REF)
        new["$ref"] = REF + names[stem] if stem in names else new["$ref"]
    for key in ("oneOf", "anyOf"):
        if isinstance(new.get(key), list) and len(new[key]) > 1 and new[key][1:] == new[key][:-1]:
            new |= new.pop(key)[0]
    return new


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
