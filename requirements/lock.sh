#!/bin/sh
# Resolves the newest versions that pyproject.toml allows, in two fresh environments, and writes run.lock and test.lock.
# test.lock holds only what the tests need on top of run.lock.
set -eu
cd "$(dirname "$0")/.."
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
pip="python -m pip --disable-pip-version-check"

"$PYTHON" -m venv "$work/run"
"$work/run/bin/"$pip install --quiet --quiet hatchling editables .
{
    echo "# Exact versions of everything that the program needs, and its build tool. Written by \`make lock\`."
    "$work/run/bin/"$pip freeze --exclude conewise
} > "$work/run.lock"

"$PYTHON" -m venv "$work/test"
"$work/test/bin/"$pip install --quiet --quiet --constraint "$work/run.lock" hatchling editables '.[test]'
{
    echo "# Exact versions of the test tools, on top of run.lock. Written by \`make lock\`."
    echo "-r run.lock"
    "$work/test/bin/"$pip freeze --exclude conewise | grep -vxFf "$work/run.lock"
} > "$work/test.lock"

mv "$work/run.lock" "$work/test.lock" requirements/
wc -l requirements/*.lock
