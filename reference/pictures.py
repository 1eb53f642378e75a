"""Pictures with metadata, and a look at what is left of them, by Pillow.

    python pictures.py make FOLDER       writes pictures that say where and by whom
    python pictures.py compare FOLDER    each `x.clean` against `x`: the same pixels, the same
                                         orientation and colour profile, nothing else
"""

import pathlib
import sys

from PIL import Image, ImageCms, PngImagePlugin

ORIENTATION = 0x0112
GPS = 0x8825
SECRET = b"A. Fitter"


def exif(orientation):
    tags = Image.Exif()
    tags[ORIENTATION] = orientation
    tags[0x010F] = "Maker"
    tags[0x013B] = SECRET.decode()
    tags.get_ifd(GPS)[1] = "N"
    tags.get_ifd(GPS)[2] = (47.0, 8.0, 30.0)
    return tags


def make(folder):
    picture = Image.effect_mandelbrot((61, 47), (-2, -1.2, 1, 1.2), 60).convert("RGB")
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    xmp = b"<x:xmpmeta>" + SECRET + b"</x:xmpmeta>"
    common = {"icc_profile": profile}
    for orientation in (1, 6):
        tags = exif(orientation)
        name = folder / f"{orientation}"
        for kind, options in {
            "jpeg": {"quality": 90, "comment": SECRET, "xmp": xmp},
            "progressive": {"quality": 80, "progressive": True, "comment": SECRET},
        }.items():
            picture.save(f"{name}.{kind}.jpg", exif=tags, **common, **options)
        text = PngImagePlugin.PngInfo()
        text.add_text("Author", SECRET.decode())
        text.add_itxt("XML:com.adobe.xmp", xmp.decode(), zip=True)
        picture.save(f"{name}.png", exif=tags, pnginfo=text, **common)
        picture.convert("P").save(f"{name}.palette.png", exif=tags, pnginfo=text)
        for kind, options in {"lossy": {}, "lossless": {"lossless": True}}.items():
            picture.save(f"{name}.{kind}.webp", exif=tags, xmp=xmp, **common, **options)
    frames = [picture, picture.rotate(20), picture.rotate(40)]
    frames[0].save(
        folder / "film.webp", save_all=True, append_images=frames[1:], exif=exif(1)
    )


def compare(folder):
    looked_at = 0
    for cleaned in sorted(folder.glob("*.clean")):
        before, after = Image.open(cleaned.with_suffix("")), Image.open(cleaned)
        name = cleaned.name
        assert after.n_frames == before.n_frames if hasattr(before, "n_frames") else True
        for frame in range(getattr(before, "n_frames", 1)):
            before.seek(frame)
            after.seek(frame)
            assert before.convert("RGBA").tobytes() == after.convert("RGBA").tobytes(), name
        wanted = before.getexif().get(ORIENTATION, 1)
        left = dict(after.getexif())
        assert left.pop(ORIENTATION, 1) == wanted, (name, wanted)
        assert not left, (name, left)
        assert before.info.get("icc_profile") == after.info.get("icc_profile"), name
        extra = set(after.info) & {"comment", "xmp", "Author", "XML:com.adobe.xmp"}
        assert not extra, (name, extra)
        assert SECRET not in cleaned.read_bytes(), name
        assert SECRET in cleaned.with_suffix("").read_bytes(), name
        looked_at += 1
    print(looked_at)


if __name__ == "__main__":
    {"make": make, "compare": compare}[sys.argv[1]](pathlib.Path(sys.argv[2]))
