"""Fuzzes the server for phones from its own description (crates/receive/openapi.json) with schemathesis.

Reads {"description", "examples", "servers": [{"url", "code", "only"}]}; `code` pairs first, `only` names the one operation
to be tried. Prints a list of {"passed", "told"}: whether every answer was described and none blamed the server, and the
report.
"""

import json
import subprocess
import sys
import tempfile
import warnings

import requests

# The certificate is the bench's own.
warnings.filterwarnings("ignore", message="Unverified HTTPS request")

CHECKS = "not_a_server_error,status_code_conformance,content_type_conformance,response_schema_conformance"


def token(url, code):
    answer = requests.post(f"{url}/api/pair", json={"code": code}, headers={"Origin": url}, verify=False, timeout=20)
    answer.raise_for_status()
    return answer.json()["token"]


def fuzz(description, examples, server, elsewhere):
    url = server["url"].rstrip("/")
    headers = ["-H", f"Origin:{url}"]
    if server.get("code"):
        headers += ["-H", f"Authorization:Bearer {token(url, server['code'])}"]
    only = ["--include-operation-id", server["only"]] if server.get("only") else []
    run = subprocess.run(
        [sys.executable, "-m", "schemathesis.cli", "run", description, "--url", url, "--tls-verify", "false", "--checks", CHECKS]
        + ["--phases", "examples,coverage,fuzzing", "--max-examples", str(examples), "--seed", "1", "--no-color"]
        + ["--continue-on-failure", "--request-timeout", "20", "--generation-database", "none", "--suppress-health-check", "all"]
        + headers
        + only,
        # It leaves files behind where it runs.
        cwd=elsewhere,
        capture_output=True,
        text=True,
    )
    return {"passed": run.returncode == 0, "told": run.stdout[-6000:] + run.stderr[-2000:]}


def main():
    asked = json.load(sys.stdin)
    with tempfile.TemporaryDirectory() as elsewhere:
        runs = [fuzz(asked["description"], asked["examples"], server, elsewhere) for server in asked["servers"]]
    json.dump(runs, sys.stdout)


main()
