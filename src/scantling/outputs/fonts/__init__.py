"""The vendored lettering: where the font files lie, and which family and weight each one carries."""

from pathlib import Path

FOLDER = Path(__file__).parent

FILES = {
    ("National Park", 400, "normal"): "NationalPark-Regular.ttf",
    ("National Park", 600, "normal"): "NationalPark-SemiBold.ttf",
    ("Libertinus Serif", 400, "normal"): "LibertinusSerif-Regular.ttf",
    ("Libertinus Serif", 400, "italic"): "LibertinusSerif-Italic.ttf",
    ("Libertinus Serif", 600, "normal"): "LibertinusSerif-SemiBold.ttf",
    ("B612 Mono", 400, "normal"): "B612Mono-Regular.ttf",
    ("Noto Sans", 400, "normal"): "NotoSans-Regular.ttf",
}
"""(family, weight, style) to file; Noto Sans is the fallback for letters the other three lack."""
