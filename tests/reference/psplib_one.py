"""The one published J30 instance that the source package of `psplib` (PyPI) carries, in the plain form the tests read.

    python3 tests/reference/psplib_one.py PSPLIB_SOURCE_FOLDER OUT_FOLDER

Used by tests/all.sh where the published sets are not at hand. The instance is PSPLIB j301_1 (Kolisch and Sprecher, EJOR 96,
1997); its optimum, 43, is that of PSPLIB's own table j30opt.
"""

import sys
from pathlib import Path

from psplib import parse

source, out = Path(sys.argv[1]), Path(sys.argv[2])
instance = parse(source / "data" / "j301_1.sm", instance_format="psplib")
lags = [
    (a, b, activity.modes[0].duration)
    for a, activity in enumerate(instance.activities)
    for b in activity.successors
]
lines = [[len(instance.activities), len(instance.resources), len(lags)]]
lines.append([r.capacity for r in instance.resources])
lines += [[a.modes[0].duration, *a.modes[0].demands] for a in instance.activities]
lines += lags
(out / "j30").mkdir(parents=True, exist_ok=True)
text = "\n".join(" ".join(str(x) for x in line) for line in lines) + "\n"
(out / "j30" / "j301_1.txt").write_text(text)
(out / "best.csv").write_text("family,instance,lower_bound,upper_bound,status\nj30,j301_1,43,43,opt\n")
