"""Writes the software bill of materials of the program (CycloneDX 1.5, JSON), from `cargo metadata` and Cargo.lock.

    python3 .ci/sbom.py FILE

Every crate that is compiled into the program or builds it, with version, licence, checksum and what it needs. Fails when a crate has no
licence or a registry's crate has no checksum. With `jsonschema`-backed `cyclonedx-python-lib` installed the file is held against the standard.
"""
import json
import subprocess
import sys
import tomllib
from pathlib import Path
from urllib.parse import quote


def reference(package: dict) -> str:
    return f"pkg:cargo/{quote(package['name'])}@{quote(package['version'])}"


def needed(meta: dict) -> dict[str, list[str]]:
    """Package ids reached from ours without dev dependencies, each with the ids it needs."""
    nodes = {n["id"]: n for n in meta["resolve"]["nodes"]}
    root, found, todo = meta["resolve"]["root"], {}, [meta["resolve"]["root"]]
    while todo:
        this = todo.pop()
        if this in found:
            continue
        deps = [d["pkg"] for d in nodes[this]["deps"] if any(k["kind"] != "dev" for k in d["dep_kinds"])]
        found[this] = deps
        todo += deps
    assert root in found
    return found


def main() -> int:
    meta = json.loads(subprocess.run(["cargo", "metadata", "--format-version", "1", "--locked"], check=True, capture_output=True).stdout)
    packages = {p["id"]: p for p in meta["packages"]}
    locked = tomllib.loads(Path("Cargo.lock").read_text())["package"]
    sums = {(p["name"], p["version"]): p.get("checksum") for p in locked}
    edges, ours = needed(meta), meta["resolve"]["root"]
    wrong, components = [], []
    for key in sorted(edges, key=lambda k: reference(packages[k])):
        package = packages[key]
        if key == ours:
            continue
        digest, licence = sums.get((package["name"], package["version"])), package.get("license")
        if not licence:
            wrong.append(f"{package['name']} {package['version']} names no licence")
        if not digest:
            wrong.append(f"{package['name']} {package['version']} has no checksum")
        components.append({
            "type": "library", "bom-ref": reference(package), "name": package["name"], "version": package["version"],
            "purl": reference(package), "hashes": [{"alg": "SHA-256", "content": digest}],
            "licenses": [{"expression": (licence or "").replace("/", " OR ")}],
        })
    root = packages[ours]
    bom = {
        "bomFormat": "CycloneDX", "specVersion": "1.5", "version": 1,
        "metadata": {"component": {
            "type": "application", "bom-ref": reference(root), "name": root["name"], "version": root["version"],
            "licenses": [{"expression": root["license"]}],
        }},
        "components": components,
        "dependencies": [
            {"ref": reference(packages[k]), "dependsOn": sorted({reference(packages[d]) for d in v})} for k, v in sorted(edges.items())
        ],
    }
    text = json.dumps(bom, indent=1)
    Path(sys.argv[1]).write_text(text)
    try:
        from cyclonedx.schema import SchemaVersion
        from cyclonedx.validation.json import JsonStrictValidator
    except ImportError:
        held = "not held against the standard: cyclonedx-python-lib is not here"
    else:
        fault = JsonStrictValidator(SchemaVersion.V1_5).validate_str(text)
        held = "held against the standard"
        if fault:
            wrong.append(f"not CycloneDX 1.5: {fault}")
    for line in wrong:
        print(line)
    print(f"{len(components)} components, {held}, {len(wrong)} faults")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
