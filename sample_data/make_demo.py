"""Make the demo journal of the made-up studio Tern Yard: ``python make_demo.py FOLDER``.

The program runs this file by its path, in a checkout and installed; it finds its siblings in
both. See ``build_demo`` for what it does.
"""

import importlib
import sys
from pathlib import Path

_HERE = Path(__file__).resolve().parent

if _HERE.name == "_sample_data":  # installed: part of the package
    _BUILD = "studiolog._sample_data.build_demo"
    _ROOT = _HERE.parent.parent
else:
    _BUILD = "sample_data.build_demo"
    _ROOT = _HERE.parent
if str(_ROOT) not in sys.path:
    sys.path.append(str(_ROOT))

_build = importlib.import_module(_BUILD)
make_demo = _build.make_demo
make_demo_once = _build.make_demo_once

if __name__ == "__main__":
    raise SystemExit(_build.main(sys.argv[1:]))
