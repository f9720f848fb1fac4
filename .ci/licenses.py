"""Every crate we link must have a permissive licence. Reads `cargo metadata`; names what does not fit and fails."""
import json
import re
import subprocess
import sys

PERMISSIVE = {
    "MIT", "MIT-0", "Apache-2.0", "Apache-2.0 WITH LLVM-exception", "BSD-2-Clause", "BSD-3-Clause", "BSD-1-Clause", "ISC",
    "Zlib", "Unlicense", "0BSD", "CC0-1.0", "BSL-1.0", "Unicode-3.0", "Unicode-DFS-2016", "PostgreSQL", "blessing", "CDLA-Permissive-2.0",
}


def allowed(expression: str) -> bool:
    """An SPDX expression is fine when one of its OR choices is wholly permissive."""
    expression = expression.replace("/", " OR ")
    choices = re.split(r"\s+OR\s+", expression.replace("(", "").replace(")", ""))
    return any(all(part.strip() in PERMISSIVE for part in re.split(r"\s+AND\s+", choice)) for choice in choices)


def main() -> int:
    meta = json.loads(subprocess.run(["cargo", "metadata", "--format-version", "1", "--locked"], check=True, capture_output=True).stdout)
    bad = []
    for package in meta["packages"]:
        licence = package.get("license") or ""
        if package["name"] != "gambrel" and not allowed(licence):
            bad.append(f"{package['name']} {package['version']}: {licence or 'no licence named'}")
    for line in bad:
        print(f"not permissive: {line}")
    print(f"{len(meta['packages']) - 1} crates looked at, {len(bad)} not permissive")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
