"""A rehearsed record is checked with stock tools alone, no benchrun on the path."""

import shutil
import subprocess
from pathlib import Path

import pytest
from patience import PATIENCE_S

from benchrun.rehearse.play import rehearse
from benchrun.verify import verify

ROOT = Path(__file__).resolve().parent.parent.parent
ANSWERS = sorted((ROOT / "samples" / "answers").glob("*.yaml"))

CHAIN = """\
mkdir "$TMP/lines" && split -l 1 -a 6 -d log.jsonl "$TMP/lines/"
{ printf '0%.0s' $(seq 64); echo; sha256sum "$TMP"/lines/* | cut -d' ' -f1; } > "$TMP/heads"
head -n -1 "$TMP/heads" | diff - <(jq -r .prev log.jsonl) || exit 1
tail -n 1 "$TMP/heads"
"""
SIGNATURES = """\
jq -r 'select(.kind == "sign" or .kind == "seal") | "\\(.n) \\(.kind) \\(.data.who) \\(.at.utc)"' \\
  log.jsonl | while read -r n kind who utc; do
  sed -n "$((n + 1))p" log.jsonl | jq -rj .data.sshsig > "$TMP/k.sig"
  when=$(printf '%s' "$utc" | sed -E 's/[-:TZ]//g; s/\\..*//')Z
  head -n "$n" log.jsonl | ssh-keygen -Y verify -f signers -I "$who" -n "$kind@benchrun" \\
    -s "$TMP/k.sig" -O verify-time="$when" || exit 1
done
"""
WHOLE = """\
when=$(tail -n 1 log.jsonl | jq -r .at.utc | sed -E 's/[-:TZ]//g; s/\\..*//')Z
who=$(jq -r 'select(.kind == "seal") | .data.who' log.jsonl | tail -n 1)
ssh-keygen -Y verify -f signers -I "$who" -n seal@benchrun -s log.jsonl.sig \\
  -O verify-time="$when" < log.jsonl
"""

pytestmark = pytest.mark.skipif(
    not all(shutil.which(tool) for tool in ("ssh-keygen", "jq", "sha256sum")),
    reason="needs ssh-keygen, jq and sha256sum",
)


def shell(script, folder, tmp):
    env = {"PATH": "/usr/bin:/bin:/usr/local/bin", "TMP": str(tmp)}
    return subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )


# One path of each procedure; the further paths are rehearsed and verified elsewhere.
@pytest.mark.parametrize(
    "answers",
    [path for path in ANSWERS if path.name.count(".") == 1],
    ids=lambda path: path.stem,
)
def test_a_rehearsal_holds_by_our_verify_and_by_stock_tools(answers, tmp_path):
    rehearsed = tmp_path / "run"
    rehearse(ROOT / "procedures" / answers.name, answers, rehearsed)
    verdict = verify(rehearsed).as_data()
    assert verdict["whole"], verdict
    assert verdict["closed"]

    chain = shell(CHAIN, rehearsed, tmp_path)
    assert chain.returncode == 0, chain.stdout + chain.stderr
    assert chain.stdout.strip() == verdict["head"]

    signatures = shell(SIGNATURES, rehearsed, tmp_path)
    assert signatures.returncode == 0, signatures.stdout + signatures.stderr
    good = signatures.stdout.count('Good "s')
    whole = shell(WHOLE, rehearsed, tmp_path)
    assert whole.returncode == 0, whole.stdout + whole.stderr
    assert good + 1 == verdict["signatures"] + verdict["seals"]


def test_stock_tools_tell_a_changed_byte(benchrun, tmp_path):
    out = tmp_path / "run"
    args = ["rehearse", "hub-bearing-removal", "--out", str(out), "--answers", str(ANSWERS_OF_HUB)]
    subprocess.run([benchrun, *args], check=True, timeout=PATIENCE_S, capture_output=True)
    log = (out / "log.jsonl").read_bytes()
    at = log.index(b'"kind":"do"') + len(b'"kind":"d')
    (out / "log.jsonl").write_bytes(log[:at] + b"0" + log[at + 1 :])
    assert shell(CHAIN, out, tmp_path).returncode == 1
    assert shell(SIGNATURES, out, tmp_path).returncode != 0
    assert shell(WHOLE, out, tmp_path).returncode != 0


ANSWERS_OF_HUB = ROOT / "samples" / "answers" / "hub-bearing-removal.yaml"


def test_each_shipped_procedure_has_answers():
    shipped = {path.stem for path in (ROOT / "procedures").glob("*.yaml")}
    assert shipped
    assert shipped <= {path.name.split(".")[0] for path in ANSWERS}
