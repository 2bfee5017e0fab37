"""The two readers of the demo, to be plugged into `gen report`.

    gen report readers.py:slipped first-look --glyphs held-out-images-idx3-ubyte.gz \\
        --classes 0-9A-H --into my-report
"""

from pathlib import Path

from gen.demo.reader import Reader

HERE = Path(__file__).resolve().parent
right = Reader.load(HERE / "right.npz")
slipped = Reader.load(HERE / "slipped.npz")
