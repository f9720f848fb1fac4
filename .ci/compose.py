"""docker-compose.yml is sound: it parses, no password has a default, nothing listens beyond this machine, every setting is one of ours."""
import re
import shutil
import subprocess
import sys
from pathlib import Path

import yaml

text = Path("docker-compose.yml").read_text()
compose = yaml.safe_load(text)
wrong = []
services = compose.get("services", {})
if set(services) != {"gambrel", "db", "mail"}:
    wrong.append(f"the services are {sorted(services)}")
known = set(re.findall(r'env: "([A-Z_]+)"', Path("src/config.rs").read_text()))
for name, service in services.items():
    if not (service.get("image") or service.get("build")):
        wrong.append(f"{name} has neither image nor build")
    image = service.get("image", "build")
    if image != "build" and (":" not in image or image.endswith(":latest")):
        wrong.append(f"{name}: the image {image} is not pinned")
    for port in service.get("ports", []):
        if not str(port).startswith("127.0.0.1:"):
            wrong.append(f"{name} listens beyond this machine on {port}")
    for key, value in service.get("environment", {}).items():
        if name == "gambrel" and key not in known:
            wrong.append(f"{key} is not a setting of Gambrel")
        if "PASSWORD" in key and not re.fullmatch(r"\$\{[A-Z_]+:\?.+\}", str(value)):
            wrong.append(f"{name}: {key} has a default")
    if name == "gambrel":
        for key, want in (("read_only", True), ("cap_drop", ["ALL"]), ("security_opt", ["no-new-privileges:true"])):
            if service.get(key) != want:
                wrong.append(f"gambrel: {key} is {service.get(key)!r}, not {want!r}")
        if str(service.get("user", "0")).split(":")[0] in {"0", "root"}:
            wrong.append("gambrel runs as root")
    if name != "mail" and not service.get("healthcheck"):
        wrong.append(f"{name} has no healthcheck")
    for needed in service.get("depends_on", {}):
        if needed not in services:
            wrong.append(f"{name} waits for {needed}, which is not there")
for url in re.findall(r"://([^@\s\"]+)@", text):
    if not re.fullmatch(r"\w+:\$\{[A-Z_]+:\?[^}]+\}", url):
        wrong.append(f"a password stands in a URL: {url}")
has_compose = shutil.which("docker") and subprocess.run(["docker", "compose", "version"], capture_output=True).returncode == 0
if has_compose:
    ran = subprocess.run(["docker", "compose", "config", "-q"], env={"PATH": "/usr/bin:/bin:/usr/local/bin", "GAMBREL_DB_PASSWORD": "x"}, capture_output=True, text=True)
    if ran.returncode:
        wrong.append(f"docker compose config: {ran.stderr.strip()}")
for line in wrong:
    print(line)
by = "and by docker compose" if has_compose else "without docker compose, which is not here"
print(f"docker-compose.yml: {len(services)} services looked at {by}, {len(wrong)} faults")
sys.exit(1 if wrong else 0)
