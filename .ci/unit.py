"""deploy/gambrel.service is sound: every setting is one of ours, it runs as nobody, and systemd reads it where there is a systemd."""
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

path = Path("deploy/gambrel.service")
lines = [line.strip() for line in path.read_text().splitlines() if line.strip() and not line.startswith("#")]
known = set(re.findall(r'env: "([A-Z_]+)"', Path("src/config.rs").read_text())) | {"GAMBREL_CONFIG"}
wrong = []
for name in (m.group(1) for line in lines if (m := re.match(r"Environment=([A-Z_]+)=", line))):
    if name not in known:
        wrong.append(f"{name} is not a setting of Gambrel")
for want in ("DynamicUser=yes", "NoNewPrivileges=yes", "ProtectSystem=strict", "ProtectHome=yes", "CapabilityBoundingSet=", "MemoryDenyWriteExecute=yes"):
    if want not in lines:
        wrong.append(f"{want} is missing")
by = "without systemd, which is not here"
if shutil.which("systemd-analyze"):
    by = "and by systemd"
    with tempfile.TemporaryDirectory() as folder:
        # The program need not be installed for the file to be right.
        copy = Path(folder) / path.name
        copy.write_text(path.read_text().replace("/usr/local/bin/gambrel", "/bin/true"))
        for command in (["verify", str(copy)], ["security", "--offline=true", "--threshold=20", "--no-pager", str(copy)]):
            ran = subprocess.run(["systemd-analyze", *command], capture_output=True, text=True)
            if ran.returncode:
                wrong.append(f"systemd-analyze {command[0]}: {(ran.stderr or ran.stdout).strip()[-300:]}")
for line in wrong:
    print(line)
print(f"{path}: {len(lines)} lines looked at {by}, {len(wrong)} faults")
sys.exit(1 if wrong else 0)
