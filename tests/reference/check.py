"""A second opinion on the program from outside: writes random job files, runs the command line on them, and compares
its files with film, paint account and colour computed here from the definitions alone, with nothing of the program's.

    python check.py PROGRAM [SEED]

`film.py`: film and paint account. `colours.py`: colours of panels. `cards.py`: spray-out cards. `optics.py`: what they
know of light, with tristimulus values by ASTM E308, CIELAB (ISO/CIE 11664-4) and CIEDE2000 (ISO/CIE 11664-6) by
colour-science 0.4.7. `runs.py`: runs and tolerances.

The first disagreement ends it with status 1. Does not look at pictures, findings or anything in a browser.
"""

import shutil
import sys
import tempfile
import time
import warnings
from pathlib import Path

import numpy as np

sys.dont_write_bytecode = True  # nothing is left beside the sources
warnings.simplefilter("ignore")  # of packages for drawing, which are not needed, and of spectra cut to 380 to 730 nm

from cards import check_cards
from colours import check_colour, check_hiding
from film import check_film
from runs import Disagreement, Ledger, Runner


def main():
    if len(sys.argv) not in (2, 3):
        sys.exit(__doc__)
    seed = int(sys.argv[2]) if len(sys.argv) == 3 else int(np.random.SeedSequence().entropy % 2**32)
    print(f"seed {seed}", flush=True)
    start, ledger, folder = time.monotonic(), Ledger(), Path(tempfile.mkdtemp(prefix="fanlap-reference-"))
    rng = np.random.default_rng(seed)
    runner = Runner(Path(sys.argv[1]).resolve(), folder)
    try:
        for check in (check_film, check_colour, check_hiding, check_cards):
            began = time.monotonic()
            check(runner, ledger, rng)
            print(f"{check.__name__}: {time.monotonic() - began:.1f} s", flush=True)
    except Disagreement as disagreement:
        print(ledger.table())
        sys.exit(f"seed {seed}: {disagreement}\nthe job file is kept: {folder / 'job.json'}")
    shutil.rmtree(folder)
    print(ledger.table())
    print(f"all agree; {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main()
