"""Independent readers on the files that crates/codec writes.

    cargo run -p codec --example specimens -- DIR
    python tests/outside/codec.py DIR

Needs numpy, tifffile, imagecodecs, pillow, rawpy (pip); uses exiftool where it is installed and says so where it is not.
Sources: tifffile and libtiff for TIFF 6.0, Pillow (libjpeg, libpng) for JPEG and PNG, LittleCMS (in Pillow) for ICC,
LibRaw (in rawpy) for DNG, exiftool for Exif and XMP; CIE 15:2018 and IEC 61966-2-1 for the colour values.
"""
import io, json, pathlib, shutil, subprocess, sys
import numpy as np, rawpy, tifffile
from PIL import Image, ImageCms

d = pathlib.Path(sys.argv[1])
want = json.loads((d / "expect.json").read_text())
W, H = want["width"], want["height"]
checks = 0


def check(truth, what):
    global checks
    checks += 1
    if not truth:
        sys.exit(f"codec: {what}")


x, y, c = np.meshgrid(np.arange(W), np.arange(H), np.arange(3), indexing="xy")
sixteen = ((x * 131 + y * 57 + c * 20011) % 65536).astype(np.uint16)
eight = (sixteen >> 8).astype(np.uint8)
ppi = want["px_per_mm"] * 25.4

# TIFF: pixels, profile, resolution; both packings, by two readers.
for name in ["master.tif", "plain.tif"]:
    with tifffile.TiffFile(d / name) as t:
        page = t.pages[0]
        check(np.array_equal(page.asarray(), sixteen), f"{name}: pixels differ (tifffile)")
        n, m = page.tags["XResolution"].value
        check(abs(n / m - ppi) < 1e-6 * ppi and page.tags["ResolutionUnit"].value == 2, f"{name}: resolution {n}/{m}")
        check(page.tags["InterColorProfile"].value == (d / "eci.icc").read_bytes(), f"{name}: profile")
        check(page.tags["ImageDescription"].value == want["description"], f"{name}: description")
        check(want["title"].split(" <")[0] in bytes(page.tags["XMP"].value).decode(), f"{name}: XMP")
        check(t.byteorder == "<" and len(t.pages) == 1 and not t.is_bigtiff, f"{name}: layout")
    with Image.open(d / name) as im:
        check(im.size == (W, H), f"{name}: Pillow size")

# PNG and JPEG.
for name, profile in [("eight.png", "srgb.icc"), ("unmarked.png", None)]:
    with Image.open(d / name) as im:
        check(np.array_equal(np.asarray(im), eight), f"{name}: pixels")
        check(abs(im.info["dpi"][0] - ppi) < 0.02, f"{name}: dpi {im.info['dpi']}")
        icc = (d / profile).read_bytes() if profile else None
        check(im.info.get("icc_profile") == icc, f"{name}: profile")
        check(("srgb" in im.info) == (profile is None), f"{name}: sRGB chunk")
        check("XML:com.adobe.xmp" in im.info, f"{name}: XMP")
        check(im.getexif()[0x0110] == want["model"], f"{name}: Exif model")
import imagecodecs
check(np.array_equal(imagecodecs.png_decode((d / "sixteen.png").read_bytes()), sixteen), "sixteen.png: pixels (libpng)")
with Image.open(d / "share.jpg") as im:
    smooth = np.stack([x[..., 0] // 2, y[..., 0] // 3, (x[..., 0] + y[..., 0]) // 5], -1).astype(np.uint8).astype(int)
    check(np.abs(np.asarray(im).astype(int) - smooth).max() <= 6, "share.jpg: pixels")
    check(im.info["icc_profile"] == (d / "srgb.icc").read_bytes(), "share.jpg: profile")
    check(im.info["dpi"] == (round(ppi), round(ppi)), f"share.jpg: dpi {im.info['dpi']}")
    exif = im.getexif().get_ifd(0x8769)
    check(exif[0x9003] == want["taken"] and exif[0x8827] == want["iso"], "share.jpg: Exif")
    check(abs(float(exif[0x829A]) * 160 - 1) < 1e-9 and abs(float(exif[0x829D]) - 7.1) < 1e-9, "share.jpg: exposure")

# ICC by LittleCMS: known colours to Lab (D50). L* from CIE 15:2018; sRGB primaries' Lab from IEC 61966-2-1 with Bradford.
lab = ImageCms.createProfile("LAB")


def to_lab(profile, rgb):
    p = ImageCms.ImageCmsProfile(io.BytesIO((d / profile).read_bytes()))
    t = ImageCms.buildTransform(p, lab, "RGB", "LAB", ImageCms.Intent.RELATIVE_COLORIMETRIC)
    px = ImageCms.applyTransform(Image.new("RGB", (1, 1), rgb), t).getpixel((0, 0))
    return px[0] / 2.55, px[1] - 128, px[2] - 128


def near(profile, rgb, L, a, b):
    got = to_lab(profile, rgb)
    # Pillow's Lab has 8 bits: half a step in L*, one in a*, b*.
    check(abs(got[0] - L) < 0.5 and abs(got[1] - a) <= 1.1 and abs(got[2] - b) <= 1.1, f"{profile} {rgb}: Lab {got}")


near("eci.icc", (128, 128, 128), 50.2, 0, 0)
near("eci.icc", (26, 26, 26), 10.2, 0, 0)
near("eci.icc", (255, 255, 255), 100, 0, 0)
near("srgb.icc", (128, 128, 128), 53.585, 0, 0)
near("srgb.icc", (255, 0, 0), 54.29, 80.81, 69.89)
near("srgb.icc", (0, 255, 0), 87.82, -79.28, 80.99)
near("srgb.icc", (0, 0, 255), 29.57, 68.29, -112.03)
near("linear-srgb.icc", (47, 47, 47), 116 * (47 / 255) ** (1 / 3) - 16, 0, 0)
near("linear-eci.icc", (47, 47, 47), 116 * (47 / 255) ** (1 / 3) - 16, 0, 0)

# DNG by LibRaw, and strictly as a TIFF.
mosaic = 512 + (sixteen[..., 0] >> 3)
with rawpy.imread(str(d / "mosaic.dng")) as raw:
    check(np.array_equal(raw.raw_image_visible, mosaic), "mosaic.dng: readings differ (LibRaw)")
    check(raw.raw_pattern.tolist() == [[0, 1], [3, 2]], f"mosaic.dng: pattern {raw.raw_pattern}")
    check(list(raw.black_level_per_channel) == [512] * 4 and raw.white_level == 16383, "mosaic.dng: levels")
    wb = np.array(raw.camera_whitebalance[:3]) / raw.camera_whitebalance[1]
    check(np.allclose(wb, [1 / 0.43, 1, 1 / 0.62], rtol=1e-4), f"mosaic.dng: balance {wb}")
with tifffile.TiffFile(d / "mosaic.dng") as t:
    check(np.array_equal(t.pages[0].asarray(), mosaic), "mosaic.dng: readings differ (tifffile)")

# Metadata by exiftool.
if shutil.which("exiftool"):
    for name in ["master.tif", "plain.tif", "eight.png", "sixteen.png", "share.jpg", "mosaic.dng"]:
        run = subprocess.run(["exiftool", "-j", "-G1", "-n", "-a", "-all", "-validate", "-warning", "-error", str(d / name)],
                             capture_output=True, text=True)
        tags = json.loads(run.stdout)[0]
        flat = {k.split(":")[-1]: v for k, v in tags.items()}
        for key, value in [("Make", want["make"]), ("Model", want["model"]), ("LensModel", want["lens"]),
                           ("FNumber", want["f_number"]), ("ISO", want["iso"]), ("FocalLength", want["focal_mm"]),
                           ("DateTimeOriginal", want["taken"]), ("Flash", 1)]:
            check(flat.get(key) == value, f"{name}: exiftool reads {key} as {flat.get(key)}")
        check(abs(flat["ExposureTime"] * 160 - 1) < 1e-6, f"{name}: exposure {flat['ExposureTime']}")
        if name != "mosaic.dng":
            check(flat.get("Title") == want["title"] and flat.get("Subject") == want["keywords"], f"{name}: XMP words")
            check(flat.get("DerivedFromDocumentID") == "blake3:0123" and flat.get("Rating") == 4, f"{name}: XMP facts")
            check(str(flat.get("DateCreated")) in ("2004:07", "2004-07"), f"{name}: date {flat.get('DateCreated')}")
            check(flat.get("Software") == want["software"], f"{name}: software")
        warned = [str(v) for k, v in tags.items() if k.split(":")[-1] in ("Warning", "Error")]
        # Deflate (8) came after TIFF 6.0, by its technical note of 2002, and is read everywhere.
        known = "Invalid value for IFD0 tag 0x0103 Compression"
        serious = [w for w in warned if not w.startswith("[minor]") and w != known]
        check(not serious, f"{name}: exiftool warns {serious}")
        if warned:
            print(f"codec: {name}: exiftool notes {warned}")
else:
    print("codec: exiftool is not installed, its checks were left out (apt-get install libimage-exiftool-perl)")
print(f"codec: {checks} outside checks hold")
