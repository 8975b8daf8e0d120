#!/bin/sh
# Reruns the reference numbers where Python and its libraries are present, and compares them with the committed file.
# Exit 0: same, or no Python here (said so). Exit 1: they differ. With REQUIRE_REFERENCE=1 a missing library is exit 2.
set -eu
cd "$(dirname "$0")"
python=${PYTHON:-python3}
if ! "$python" -c 'import scipy, numpy, CoolProp' 2>/dev/null; then
    echo "not rerun: $python with scipy, numpy and CoolProp is not here (pip install scipy numpy CoolProp)"
    [ "${REQUIRE_REFERENCE:-0}" = 1 ] && exit 2
    exit 0
fi
exec "$python" make.py --check
