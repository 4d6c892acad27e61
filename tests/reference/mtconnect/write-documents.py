#!/usr/bin/env python3
"""Writes, for every version of MTConnect, one document with each observation that its schema knows, and holds it against that
schema with xmllint. usage: write-documents.py FOLDER, with the schemas MTConnectStreams_*.xsd (see SOURCE.md)."""

import gzip
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

XS = "{http://www.w3.org/2001/XMLSchema}"
VERSIONS = "1.1 1.2 1.3 1.4 1.5 1.6 1.7 1.8 2.0 2.1 2.2 2.3 2.4 2.5 2.6 2.7".split()
HERE = pathlib.Path(__file__).parent
BUILT_IN = {
    "string": "text", "anyURI": "urn:a", "NMTOKEN": "a", "ID": "id", "IDREF": "id", "token": "text", "language": "en",
    "float": "1.5", "double": "1.5", "decimal": "1.5", "integer": "1", "int": "1", "long": "1", "positiveInteger": "1",
    "nonNegativeInteger": "1", "unsignedLong": "1", "unsignedInt": "1", "dateTime": "2031-03-03T07:00:00Z", "boolean": "true",
    "date": "2031-03-03", "duration": "PT1S", "hexBinary": "00", "base64Binary": "AAAA", "Name": "a", "NCName": "a",
}


class Schema:
    def __init__(self, path):
        root = ET.parse(path).getroot()
        self.version = path.stem.split("_")[1]
        self.types = {t.get("name"): t for t in root if t.tag in (XS + "complexType", XS + "simpleType")}
        self.elements = {e.get("name"): e for e in root.findall(XS + "element")}
        self.attribute_groups = {g.get("name"): g for g in root.findall(XS + "attributeGroup")}
        self.groups = {g.get("name"): g for g in root.findall(XS + "group")}
        self.substitutes = {}
        for name, element in self.elements.items():
            head = element.get("substitutionGroup")
            if head:
                self.substitutes.setdefault(local(head), []).append(name)

    def concrete(self, head):
        """Every element that may stand where this one may."""
        for name in self.substitutes.get(head, []):
            yield from self.concrete(name)
        element = self.elements.get(head)
        if element is not None and element.get("abstract") != "true" and self.type_of(element).get("abstract") != "true":
            yield head

    def type_of(self, element):
        inline = element.find(XS + "complexType")
        return inline if inline is not None else self.types[local(element.get("type"))]

    def attributes(self, node):
        """Name, and node, of every attribute of a type; those that it restricts count before those of its base."""
        found = {}
        for holder in self.derivations(node):
            base = self.types.get(local(holder.get("base")))
            if base is not None and base.tag == XS + "complexType":
                found.update(self.attributes(base))
            found.update(self.own_attributes(holder))
        found.update(self.own_attributes(node))
        return found

    def own_attributes(self, holder):
        found = {}
        for child in holder:
            if child.tag == XS + "attribute" and child.get("name"):
                found[child.get("name")] = child
            if child.tag == XS + "attributeGroup":
                found.update(self.own_attributes(self.attribute_groups[local(child.get("ref"))]))
        return found

    @staticmethod
    def derivations(node):
        for content in node:
            if content.tag in (XS + "simpleContent", XS + "complexContent"):
                yield from (d for d in content if d.tag in (XS + "extension", XS + "restriction"))

    def simple(self, name):
        """A text of a simple type."""
        name = local(name)
        if name not in self.types:
            return BUILT_IN[name]
        return self.simple_of(self.types[name])

    def simple_of(self, node):
        restriction, union, of_list = (node.find(XS + tag) for tag in ("restriction", "union", "list"))
        if union is not None:
            members = (union.get("memberTypes") or "").split()
            return self.simple(members[0]) if members else self.simple_of(union.find(XS + "simpleType"))
        if of_list is not None:
            inner = of_list.find(XS + "simpleType")
            return self.simple_of(inner) if inner is not None else self.simple(of_list.get("itemType"))
        return self.restricted(restriction)

    def restricted(self, node):
        values = [e.get("value") for e in node.findall(XS + "enumeration")]
        if values:
            return values[0]
        pattern = node.find(XS + "pattern")
        if pattern is not None:
            return of_pattern(pattern.get("value"))
        inner = node.find(XS + "simpleType")
        base = self.simple_of(inner) if inner is not None else self.text_of_base(node.get("base"))
        length = next((one for one in (node.find(XS + "length"), node.find(XS + "minLength")) if one is not None), None)
        if length is not None and base in ("1", "1.5"):
            return " ".join([base] * int(length.get("value")))
        lowest = node.find(XS + "minInclusive")
        return lowest.get("value") if lowest is not None and base in ("1", "1.5") else base

    def text_of_base(self, name):
        base = self.types.get(local(name))
        if base is not None and base.tag == XS + "complexType":
            return self.text(base)
        return self.simple(name)

    def text(self, node):
        """What a type with simple content holds."""
        for holder in self.derivations(node):
            if holder.tag == XS + "restriction":
                return self.restricted(holder)
            return self.text_of_base(holder.get("base"))
        return ""

    def children(self, node):
        """Elements that have to stand in a type."""
        for holder in self.derivations(node):
            base = self.types.get(local(holder.get("base")))
            own = self.particles(holder)
            if holder.tag == XS + "extension" and base is not None:
                return self.children(base) + own
            return own if own or base is None else []
        return self.particles(node)

    def particles(self, holder):
        found = []
        for child in holder:
            if child.tag in (XS + "sequence", XS + "all", XS + "choice"):
                inner = self.particles(child)
                found += inner[:1] if child.tag == XS + "choice" else inner
            elif child.tag == XS + "group":
                found += self.particles(self.groups[local(child.get("ref"))])
            elif child.tag == XS + "element":
                found.append(child)
        return found

    def write(self, name, given, element=None, node=None):
        """An element with what it must have, and what is given."""
        node = node if node is not None else self.type_of(element if element is not None else self.elements[name])
        attributes = {
            key: given.get(key, one.get("fixed") or self.attribute(one))
            for key, one in self.attributes(node).items()
            if key in given or (one.get("use") == "required" and one.get("use") != "prohibited")
        }
        said = "".join(f' {key}="{value}"' for key, value in attributes.items())
        inner = ""
        for child in self.children(node):
            least = 1 if name.endswith(("DataSet", "Table", "Entry")) else int(child.get("minOccurs", "1"))
            for _ in range(min(least, 1)):
                chosen = child.get("name") or next(self.concrete(local(child.get("ref"))), None)
                if chosen is None:
                    continue
                own = child if child.get("name") else None
                inner += self.write(chosen, {}, own)
        return f"<{name}{said}>{inner or self.text(node)}</{name}>"

    def attribute(self, node):
        inline = node.find(XS + "simpleType")
        return self.simple_of(inline) if inline is not None else self.simple(node.get("type"))


def local(name):
    return (name or "").split(":")[-1]


def of_pattern(pattern):
    """A text of the few patterns that the schemas have."""
    for text in ("1.5 1.5 1.5", "1", "1.5", "1.5 1.5", "text", "a", "AA", "2031-03-03T07:00:00Z", "1:1", "00:00:00", "1.1.1.1", "1:1,2:2"):
        if re.fullmatch(pattern, text):
            return text
    raise SystemExit(f"no text for the pattern {pattern}")


def document(schema):
    sequence, parts, count = 0, [], 0
    for category, heads in (("Samples", ["Sample"]), ("Events", ["Event"]), ("Condition", ["Condition"])):
        lines = []
        for name in sorted({one for head in heads for one in schema.concrete(head)}):
            sequence += 1
            given = {
                "dataItemId": f"i{sequence}", "sequence": str(sequence), "timestamp": f"2031-03-03T07:{sequence // 60 % 60:02}:{sequence % 60:02}.25Z",
                "type": "SYSTEM" if category == "Condition" else "T", "sampleCount": "1", "count": "1",
            }
            known = schema.attributes(schema.type_of(schema.elements[name]))
            lines.append(schema.write(name, {k: v for k, v in given.items() if k in known and not (k == "type" and category != "Condition")}))
            count += 1
        parts.append(f"<{category}>\n" + "\n".join(lines) + f"\n</{category}>")
    version = schema.version
    told = {"sender": "s", "instanceId": "1", "version": version, "bufferSize": "131072", "creationTime": "2031-03-03T07:00:00Z"}
    numbers = {"firstSequence": "1", "lastSequence": str(count), "nextSequence": str(count + 1)}
    header = schema.write("Header", {**told, **numbers}, node=schema.types["HeaderType"])
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<MTConnectStreams xmlns="urn:mtconnect.org:MTConnectStreams:{version}">
{header}
<Streams><DeviceStream name="d" uuid="u"><ComponentStream componentId="c" component="Device" name="d">
{chr(10).join(parts)}
</ComponentStream></DeviceStream></Streams>
</MTConnectStreams>
""", count


def main():
    source = pathlib.Path(sys.argv[1])
    for version in VERSIONS:
        path = source / f"MTConnectStreams_{version}.xsd"
        # Where the makers publish the schema by XSD 1.0 too, that one is held against: xmllint reads no other.
        older = source / f"MTConnectStreams_{version}_1.0.xsd"
        text, count = document(Schema(path))
        with tempfile.NamedTemporaryFile("w", suffix=".xml", encoding="utf-8") as made:
            made.write(text)
            made.flush()
            done = subprocess.run(["xmllint", "--noout", "--nonet", "--schema", str(older if older.exists() else path), made.name], capture_output=True, text=True)
        faults = [line for line in done.stderr.splitlines() if "error" in line]
        print(version, count, "observations,", "valid" if done.returncode == 0 else f"{len(faults)} faults")
        for line in faults[:8]:
            print("  ", line[-300:])
        if done.returncode == 0:
            folder = HERE / "by-schema"
            folder.mkdir(exist_ok=True)
            (folder / f"{version}.xml.gz").write_bytes(gzip.compress(text.encode(), mtime=0))


main()
