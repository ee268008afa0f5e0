"""Independent readers on the files that crates/codec writes.

    cargo run -p codec --example specimens -- DIR
    cargo build -p codec --example reread
    python tests/outside/codec.py DIR target/debug/examples/reread

Without the second word the pictures that other programs made are not read back.
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
    # DateTimeDigitized, OffsetTimeOriginal, SubSecTimeOriginal; Artist, Copyright (DC-008, Exif 2.32).
    clock = (exif.get(0x9004), exif.get(0x9011), exif.get(0x9291))
    check(clock == ("2026:02:14 19:05:34", "-05:00", "7"), f"share.jpg: the camera's clock {clock}")
    owner = (im.getexif().get(0x013B), im.getexif().get(0x8298))
    check(owner == ("Ada Vale", "Ada Vale 2026"), f"share.jpg: artist and rights {owner}")
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

def made_elsewhere():
    """Pictures of many kinds by other programs: path -> 16-bit RGB that must be read."""
    made = {}
    rgb16, rgb8, gray16 = sixteen, eight, sixteen[..., 0]
    wide = eight.astype(np.uint16) * 257

    def tif(name, data, truth, **how):
        tifffile.imwrite(d / name, data, **how)
        made[d / name] = truth

    for packing in ["none", "lzw", "deflate", "packbits", "zstd"]:
        for predictor in [False, True] if packing in ("lzw", "deflate", "zstd") else [False]:
            for tile in [None, (64, 48)]:
                for data, truth in [(rgb16, rgb16), (rgb8, wide)]:
                    tif(f"in-{packing}-{predictor}-{tile is not None}-{data.dtype}.tif", data, truth, compression=packing,
                        predictor=predictor, tile=tile, rowsperstrip=None if tile else 37, photometric="rgb")
    tif("in-big-endian.tif", rgb16, rgb16, byteorder=">", photometric="rgb")
    tif("in-bigtiff.tif", rgb16, rgb16, bigtiff=True, compression="deflate", photometric="rgb")
    tif("in-planar.tif", np.moveaxis(rgb16, -1, 0).copy(), rgb16, photometric="rgb", planarconfig="separate")
    tif("in-gray16.tif", gray16, np.repeat(gray16[..., None], 3, -1), compression="deflate", photometric="minisblack")
    tif("in-gray-tiles.tif", gray16, np.repeat(gray16[..., None], 3, -1), tile=(64, 64), photometric="minisblack")
    tif("in-white-is-zero.tif", 255 - eight[..., 0], np.repeat(wide[..., :1], 3, -1), photometric="miniswhite")
    alpha = np.concatenate([rgb16, gray16[..., None]], -1)
    tif("in-alpha.tif", alpha, rgb16, photometric="rgb", extrasamples=["unassalpha"])
    tif("in-float.tif", (rgb16 / 65535).astype(np.float32), rgb16, compression="deflate", predictor=True, photometric="rgb")
    for name, im, truth in [
        ("in-rgb.png", Image.fromarray(eight), wide),
        ("in-gray.png", Image.fromarray(eight[..., 0]), np.repeat(wide[..., :1], 3, -1)),
        ("in-rgba.png", Image.fromarray(np.dstack([eight, eight[..., 0]]), "RGBA"), wide),
    ]:
        im.save(d / name)
        made[d / name] = truth
    table = Image.fromarray((np.arange(W * H) % 250).astype(np.uint8).reshape(H, W), "P")
    table.putpalette([v for i in range(250) for v in (i, 255 - i, i // 2)])
    table.save(d / "in-palette.png")
    made[d / "in-palette.png"] = np.asarray(table.convert("RGB")).astype(np.uint16) * 257
    return made


if len(sys.argv) > 2:
    made = made_elsewhere()
    pairs = [str(p) for path in made for p in (path, path.with_suffix(".out.tif"))]
    said = subprocess.run([sys.argv[2], *pairs], capture_output=True, text=True, check=True).stdout
    for path, truth in made.items():
        out = path.with_suffix(".out.tif")
        check(out.exists(), f"{path.name} was not read: {said}")
        check(np.array_equal(tifffile.imread(out), truth), f"{path.name}: pixels differ")
    for quality, sub in [(95, 0), (90, 1), (90, 2)]:
        for progressive in [False, True]:
            path, out = d / "in.jpg", d / "in-jpg.tif"
            Image.fromarray(smooth.astype(np.uint8)).save(path, quality=quality, subsampling=sub, progressive=progressive)
            subprocess.run([sys.argv[2], path, out], check=True, capture_output=True)
            theirs, ours = np.asarray(Image.open(path)).astype(int), tifffile.imread(out).astype(int) // 257
            # Decoders may differ by rounding; where colour is subsampled, by how they smooth it.
            limit = 3 if sub == 0 else 8
            check(np.abs(theirs - ours).max() <= limit, f"JPEG {quality}, {sub}: off by {np.abs(theirs - ours).max()}")
    # Pictures refused: each with one line that says why.
    Image.fromarray(eight).convert("CMYK").save(d / "press.jpg")
    Image.fromarray(eight).convert("CMYK").save(d / "press.tif")
    for name in ["press.jpg", "press.tif"]:
        said = subprocess.run([sys.argv[2], d / name, d / "x.tif"], capture_output=True, text=True).stdout
        check("CMYK" in said and said.count("\n") == 1, f"{name}: {said}")
print(f"codec: {checks} outside checks hold")
