"""Say what an audit of dependencies came to; exit 1 where a weakness is known.

Usage: audited.py FOUND.json EXIT_CODE. What could not be looked up is said, and is no
failure: a machine may not reach the audit's data.
"""

import json
import sys

path, exit_code = sys.argv[1], int(sys.argv[2])
try:
    with open(path, encoding="utf-8") as file:
        packages = json.load(file)["dependencies"]
except (OSError, ValueError, KeyError):
    print(f"The audit could not be made (exit code {exit_code}); nothing is known.")
    sys.exit(0)
skipped = [each for each in packages if "skip_reason" in each]
weak = [each for each in packages if each.get("vulns")]
if skipped:
    print(f"The audit could not reach its data for {len(skipped)} of {len(packages)}.")
for each in weak:
    for known in each["vulns"]:
        fixed = ", ".join(known.get("fix_versions", [])) or "no version yet"
        print(f"{each['name']} {each['version']}: {known['id']}, mended in {fixed}")
if not weak and len(skipped) < len(packages):
    print("No weakness is known of the others.")
sys.exit(1 if weak else 0)
