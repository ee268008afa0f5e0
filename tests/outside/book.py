"""Independent readers on the books that `fallside book` makes.

    python tests/outside/book.py target/debug/fallside target/debug/examples/press RESULTS DIR

Needs numpy, opencv-python-headless, pikepdf, pillow, pypdfium2, tifffile (pip) and poppler's tools. Sources: qpdf (in pikepdf) and poppler
for ISO 32000-1; PDFium for the page as a picture; libtiff's readers for the mounts; the ICC library in Pillow for the inks. What is
expected is computed here from mounts and reports, and never from the certificate, which is then held against it.
"""
import io, json, pathlib, re, shutil, subprocess, sys, unicodedata
import cv2, numpy as np, pikepdf, pypdfium2, tifffile
from PIL import Image, ImageCms

program, press_tool, results, folder = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3]), pathlib.Path(sys.argv[4])
MM = 72 / 25.4
TRIM, BLEED = 240.0, 3.0
checks = 0


def check(truth, what):
    global checks
    checks += 1
    if not truth:
        sys.exit(f"book: {what}")


def make(name, *words):
    out = folder / name
    run = subprocess.run([program, "book", "--in", results, "--all", "--dated", "2026-11-25", "--title", "Ærøskøbing & Łódź",
                          "--author", "Дарья В.", "--out", out, *words], capture_output=True, text=True)
    check(run.returncode in (0, 1) and out.exists(), f"{name}: {run.stderr}")
    return out, json.loads(out.with_suffix(".certificate.json").read_text())


def placed(page):
    """Pictures on a page: (image, left, top, width, height) in mm from its trimmed top left."""
    found, matrix = [], None
    trim, media = [float(v) for v in page.TrimBox], [float(v) for v in page.MediaBox]
    check(media[:2] == [0, 0], "media box starts at 0")
    for op in pikepdf.parse_content_stream(page):
        if str(op.operator) == "cm":
            matrix = [float(v) for v in op.operands]
        elif str(op.operator) == "Do":
            a, b, c, d, e, f = matrix
            image = page.Resources.XObject[str(op.operands[0])]
            if image.Subtype == "/Form":
                # A spine's words or a page of a zine: no picture.
                continue
            check(b == 0 and c == 0, "pictures lie straight")
            found.append((image, (e - trim[0]) / MM, (trim[3] - f - d) / MM, a / MM, d / MM))
    return found


def read(image):
    """Channels of an image by qpdf's filters, and PNG's predictors (ISO 32000-1, 7.4.4.4) undone here."""
    w, h = int(image.Width), int(image.Height)
    return np.frombuffer(image.read_bytes(), np.uint8).reshape(h, w, -1)


def report(name):
    r = json.loads((results / "reports" / f"{name}.report.json").read_text())
    return r["canvas"], tifffile.imread(results / "mounts" / f"{name}.mount.tif")


def cut_of(mount, canvas, picture, at):
    """The part of the mount that a picture shows, by true size alone: its print's corner is at a known place of the page."""
    k = canvas["px_per_mm"]
    x, y = canvas["print_px"][0]
    left, top = x - (at[0] - picture[0]) * k, y - (at[1] - picture[1]) * k
    w, h = picture[2] * k, picture[3] * k
    for v in (left, top, w, h):
        check(abs(v - round(v)) < 0.05, f"the picture is cut at {v} px of its mount: not true size")
    return tuple(round(v) for v in (left, top, w, h))


def boxes(pdf, name):
    for n, page in enumerate(pdf.pages, 1):
        m, t, b = ([float(v) for v in page[k]] for k in ("/MediaBox", "/TrimBox", "/BleedBox"))
        check(np.allclose([t[2] - t[0], t[3] - t[1]], TRIM * MM, atol=0.01), f"{name} page {n}: trim {t}")
        check(m[0] <= b[0] <= t[0] and m[1] <= b[1] <= t[1] and t[2] <= b[2] <= m[2] and t[3] <= b[3] <= m[3], f"{name} page {n}: boxes")
        check(np.allclose([t[0] - b[0], b[3] - t[3]], BLEED * MM, atol=0.01), f"{name} page {n}: bleed")
        check("/ArtBox" not in page and "/Annots" not in page, f"{name} page {n}: what PDF/X forbids")


def colours(pdf, name, inks):
    """No device colour that the output intent does not mean."""
    for n, page in enumerate(pdf.pages, 1):
        used = {str(op.operator) for op in pikepdf.parse_content_stream(page)}
        check(not used & {"g", "G", "rg", "RG"}, f"{name} page {n}: device grey or RGB")
        check(inks or not used & {"k", "K"}, f"{name} page {n}: device CMYK without a condition")
        for image, *_ in placed(page):
            space = image.ColorSpace
            check(space == "/DeviceCMYK" if inks == "pictures" else space[0] == "/ICCBased", f"{name} page {n}: {space}")


def fonts(path):
    table = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
    check(len(table) >= 1, f"{path.name}: fonts {table}")
    for line in table:
        yes = re.findall(r"\b(yes|no)\b", line)[:3]
        check(yes == ["yes", "yes", "yes"] and re.match(r"[A-Z]{6}\+", line), f"{path.name}: embedded, subset, Unicode: {line}")


shutil.rmtree(folder, ignore_errors=True)
folder.mkdir(parents=True)
icc = folder / "press.icc"
subprocess.run([press_tool, icc], check=True)
cmyk, certificate = make("inks.pdf", "--printer", icc, "--layout", "single,facing,grid=2x1", "--trim", f"{TRIM:.0f}x{TRIM:.0f}mm", "--proof", "--deck", "--dummy", "--soft-proof")
again, _ = make("again.pdf", "--printer", icc, "--layout", "single,facing,grid=2x1", "--trim", f"{TRIM:.0f}x{TRIM:.0f}mm")
check(cmyk.read_bytes() == again.read_bytes(), "the same words give other bytes")
again.unlink()

# The file.
for path in sorted(folder.glob("*.pdf")):
    with pikepdf.open(path) as pdf:
        check(pdf.check_pdf_syntax() == [], f"{path.name}: qpdf finds {pdf.check_pdf_syntax()[:3]}")
        check(not pdf.is_encrypted and "/OpenAction" not in pdf.Root and "/AcroForm" not in pdf.Root, f"{path.name}: actions")
    fonts(path)
info = subprocess.run(["pdfinfo", "-box", cmyk], capture_output=True, text=True, check=True)
check("PDF/X-4" in info.stdout and not info.stderr.strip(), f"pdfinfo: {info.stdout} {info.stderr}")
pdf = pikepdf.open(cmyk)
check(str(pdf.trailer.ID[0]) and pdf.pdf_version == "1.6", "identifier and version")
intents = pdf.Root.OutputIntents
check(len(intents) == 1 and intents[0].S == "/GTS_PDFX" and intents[0].DestOutputProfile.read_bytes() == icc.read_bytes(), "output intent")
check("/OutputConditionIdentifier" in intents[0] and int(intents[0].DestOutputProfile.N) == 4, "condition")
with pdf.open_metadata() as xmp:
    check(xmp["{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"] == "PDF/X-4" and xmp["pdf:Trapped"] == "False", "XMP")
    check(xmp["dc:title"] == str(pdf.docinfo.Title) == "Ærøskøbing & Łódź" and str(pdf.docinfo.Trapped) == "/False", "title, trapped")
    for key in ("xmp:CreateDate", "xmp:ModifyDate", "xmp:MetadataDate", "xmpMM:DocumentID", "xmpMM:VersionID", "xmpMM:RenditionClass"):
        check(xmp.get(key), f"XMP has no {key}")
boxes(pdf, "inks.pdf")
colours(pdf, "inks.pdf", "pictures")
with pdf.open_outline() as outline:
    names = [item.title for item in outline.root]
    check(names[0] == "Title" and names[-2:] == ["Plates", "Colophon"] and len(names) > 4, f"bookmarks {names}")
text = subprocess.run(["pdftotext", "-layout", cmyk, "-"], capture_output=True, text=True, check=True).stdout
for words in ("Ærøskøbing & Łódź", "Дарья В.", "Plates", "no ink on any"):
    check(words in " ".join(text.split()), f"the text has no “{words}”")
listed = subprocess.run(["pdfimages", "-list", cmyk], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
check(all(l.split()[5] == "cmyk" and l.split()[7] == "8" for l in listed), f"pdfimages: {listed[:2]}")

# The pictures: read from the file itself, against the mounts.
source = ImageCms.createProfile("sRGB")
bare, first_tint, seen = 0, 1.0, set()
known = {(p["page"], p["name"]): p for p in certificate["pictures"]}
check(certificate["paper_white"] and certificate["pages"] == len(pdf.pages), "certificate")
for n, page in enumerate(pdf.pages, 1):
    here = [p for (at, _), p in known.items() if at == n]
    for image, *picture in placed(page):
        p = min(here, key=lambda p: abs(p["picture_mm"][0] - picture[0]) + abs(p["picture_mm"][1] - picture[1]))
        name, at = p["name"], p["print_mm"]
        seen.add(name)
        canvas, mount = report(name)
        left, top, w, h = cut_of(mount, canvas, picture, at)
        size = [np.hypot(*np.subtract(canvas["print_px"][a], canvas["print_px"][b])) / canvas["px_per_mm"] for a, b in ((0, 1), (1, 2))]
        check(abs(at[2] / size[0] - 1) < 1e-3 and abs(at[3] / size[1] - 1) < 1e-3, f"{name}: {at[2:]} mm on the page, {size} in life")
        inks, part = read(image), mount[top : top + h, left : left + w]
        check(inks.shape[2] == 4 and part.shape[:2] == (h, w), f"{name}: shape")
        # A pixel of the file is bare where every pixel of the mount that it covers is white.
        dark = (part < 65535).any(axis=2).astype(np.float32)
        cover = cv2.resize(dark, (inks.shape[1], inks.shape[0]), interpolation=cv2.INTER_AREA)
        white = cv2.erode((cover == 0).astype(np.uint8), np.ones((3, 3)), borderValue=1).astype(bool)
        check(not inks[white].any(), f"{name}: bare paper has ink on {int(inks[white].any(axis=1).sum())} pixels")
        rim = np.ones(white.shape, bool)
        rim[1:-1, 1:-1] = False
        check(not inks[rim].any(), f"{name}: its rim has ink")
        bare += int(white.sum())
        # Shadow: outside the print, and no tint between nothing and the first dot.
        quad = (np.float64(canvas["print_px"]) - [left, top]) * [inks.shape[1] / w, inks.shape[0] / h]
        print_mask = cv2.fillConvexPoly(np.zeros(white.shape, np.uint8), np.round(quad).astype(np.int32), 1)
        outside = cv2.dilate(print_mask, np.ones((7, 7))) == 0
        tints = inks[outside & inks.any(axis=2)]
        if tints.size:
            first_tint = min(first_tint, tints[tints > 0].min() / 255)
        check(tints.size and tints[tints > 0].min() >= 0.03 * 255, f"{name}: a tint under the first dot")
        # The print's own inks, by another caller of an ICC library: means of a lattice of 8 by 8 parts.
        mid = cv2.erode(print_mask, np.ones((41, 41))).astype(bool)
        ys, xs = np.nonzero(mid)
        y0, y1, x0, x1 = ys.min(), ys.max(), xs.min(), xs.max()
        profile = ImageCms.ImageCmsProfile(io.BytesIO(tifffile.TiffFile(results / "mounts" / f"{name}.mount.tif").pages[0].tags[34675].value))
        small = cv2.resize(part, (inks.shape[1], inks.shape[0]), interpolation=cv2.INTER_AREA)
        rgb = Image.fromarray((small / 257 + 0.5).astype(np.uint8))
        change = ImageCms.buildTransform(profile, ImageCms.ImageCmsProfile(str(icc)), "RGB", "CMYK", ImageCms.Intent.RELATIVE_COLORIMETRIC, ImageCms.Flags.BLACKPOINTCOMPENSATION)
        wanted = np.asarray(ImageCms.applyTransform(rgb, change)).astype(float)
        blocks = lambda a: cv2.resize(a[y0:y1, x0:x1].astype(np.float32), (8, 8), interpolation=cv2.INTER_AREA)
        off = np.abs(blocks(inks) - blocks(wanted)).max() / 255
        check(off < 0.02, f"{name}: inks are {off:.3f} away from what an ICC library gives")
        check(p["bare_with_ink_px"] == 0 and p["rim_with_ink_px"] == 0, f"{name}: certificate")
        own = min(400, canvas["px_per_mm"] * 25.4)
        check(abs(inks.shape[1] / picture[2] * 25.4 / own - 1) < 2e-3 and abs(p["ppi"] / own - 1) < 2e-3, f"{name}: resolution")
check(len(seen) == len(list((results / "mounts").glob("*.tif"))) and bare > 1e4, f"{len(seen)} prints, {bare} bare pixels")
check(min(p["first_tint"] for p in certificate["pictures"]) <= first_tint + 1e-4, "the certificate's first tint is not the file's")

# The page as a picture: RGB, against a composite made here of mount and white.
rgb_book, _ = make("rgb.pdf", "--layout", "single", "--first-dot", "0%")
pdf = pikepdf.open(rgb_book)
boxes(pdf, "rgb.pdf")
colours(pdf, "rgb.pdf", None)
check("/OutputIntents" not in pdf.Root, "an RGB book without a condition calls itself PDF/X")
reader = pypdfium2.PdfDocument(rgb_book)
k, fine = 300 / 25.4, 900 / 25.4
shown, both, worst = 0, 0, [0.0, 0.0]
for n, page in enumerate(pdf.pages):
    picture = placed(page)
    if not picture:
        continue
    _, x, y, w, h = picture[0]
    p = next(p for p in json.loads(rgb_book.with_suffix(".certificate.json").read_text())["pictures"] if p["page"] == n + 1)
    canvas, mount = report(p["name"])
    # By the layout's own rule the print stands in the middle of the page's width, and its size is its own.
    size = np.hypot(*np.subtract(canvas["print_px"][0], canvas["print_px"][1])) / canvas["px_per_mm"]
    left, top, cw, ch = cut_of(mount, canvas, (x, y, w, h), ((TRIM - size) / 2, p["print_mm"][1]))
    page_px = reader[n].render(scale=300 / 72).to_numpy()[:, :, :3]
    # eciRGBv2 (L* curve, its own primaries) to sRGB by its profile, in the ICC library's floats.
    profile = ImageCms.ImageCmsProfile(io.BytesIO(tifffile.TiffFile(results / "mounts" / f"{p['name']}.mount.tif").pages[0].tags[34675].value))
    part = Image.fromarray((mount[top : top + ch, left : left + cw] / 257 + 0.5).astype(np.uint8))
    part = np.asarray(ImageCms.profileToProfile(part, profile, source, ImageCms.Intent.RELATIVE_COLORIMETRIC)).astype(np.float32)
    area = np.zeros(page_px.shape[:2], bool)
    area[int((y + BLEED) * k) : int((y + h + BLEED) * k) + 2, int((x + BLEED) * k) : int((x + w + BLEED) * k) + 2] = True
    caption = np.zeros_like(area)
    caption[int((y + h + BLEED) * k) : int((y + h + 25) * k), int((x + BLEED) * k) :] = True
    check((page_px[~area & ~caption] == 255).all(), f"page {n + 1}: something stands where nothing should")
    # The picture's part of the page at 900 dpi, where PDFium's setting of pictures on whole pixels is 0.03 mm, and the composite.
    media = reader[n].get_size()
    cut = [(x + BLEED - 1) * MM, media[1] - (y + h + BLEED + 1) * MM, media[0] - (x + w + BLEED + 1) * MM, (y + BLEED - 1) * MM]
    drawn = reader[n].render(scale=fine / MM, crop=cut).to_numpy()[:, :, :3][:, :, ::-1]
    origin = np.ceil(np.multiply([cut[0], cut[3]], fine / MM))
    step, start = np.divide([w, h], [cw, ch]) * fine, np.multiply([x + BLEED, y + BLEED], fine) - origin
    matrix = np.float64([[step[0], 0, start[0] - 0.5 + step[0] / 2], [0, step[1], start[1] - 0.5 + step[1] / 2]])
    composite = cv2.warpAffine(part, matrix, drawn.shape[1::-1], flags=cv2.INTER_LINEAR, borderValue=(255, 255, 255))
    blur = lambda a: cv2.GaussianBlur(a.astype(np.float32), (0, 0), 12)
    off = np.abs(blur(drawn) - blur(composite))
    # A pixel's shift of an edge from black to white is 255 / (12 sqrt(2 pi)) = 8.5 after the blur of a third of a millimetre.
    check(off.mean() < 1.0 and np.percentile(off, 99.5) < 9, f"page {n + 1}: {off.mean():.2f} mean, {np.percentile(off, 99.5):.1f} from the composite")
    # Scale and place: the shift that fits best at four corners of the print.
    grey, want = (cv2.GaussianBlur(a.mean(axis=2), (0, 0), 3) for a in (drawn, composite))
    q = (np.float64(canvas["print_px"]) - [left, top]) * step + start
    window = cv2.createHanningWindow((240, 240), cv2.CV_64F)
    shifts = []
    for cx, cy in q:
        at = tuple(slice(s, s + 240) for s in (int(np.clip(c - 120, 0, size - 240)) for c, size in zip((cy, cx), grey.shape)))
        shift, sure = cv2.phaseCorrelate(np.float64(want[at] - want[at].mean()), np.float64(grey[at] - grey[at].mean()), window)
        # Black on its own black shadow has no corner to find, nor has a print that left its frame.
        shifts.append(shift if sure > 0.1 else (np.nan, np.nan))
    shifts = np.array(shifts)
    across = [abs(shifts[b][0] - shifts[a][0]) / np.hypot(*(q[b] - q[a])) for a, b in ((0, 1), (3, 2), (0, 2), (3, 1))]
    down = [abs(shifts[b][1] - shifts[a][1]) / np.hypot(*(q[b] - q[a])) for a, b in ((0, 3), (1, 2), (0, 2), (1, 3))]
    check(np.isfinite(shifts).all(axis=1).sum() >= 2, f"page {n + 1}: too few corners of the print are found")
    both += bool(np.isfinite(across).any() and np.isfinite(down).any())
    stretch, away = np.nanmax(across + down), np.nanmax(np.abs(shifts)) / fine
    worst = [max(worst[0], stretch), max(worst[1], away)]
    check(stretch < 1e-3, f"page {n + 1}: the print is {stretch:.4f} off true size")
    check(away < 0.06, f"page {n + 1}: the print stands {away:.3f} mm away")
    shown += 1
check(shown == len(seen) and both >= 0.8 * shown, f"{shown} pages rendered, {both} measured both ways")

# Marks, numbers and the cover: boxes and spine by arithmetic, colour in the condition's inks, bare paper without ink where nothing stands.
marked, marked_certificate = make("marked.pdf", "--printer", icc, "--layout", "facing", "--crop-marks", "--page-numbers", "--cover", "--paper-thickness", "0.6", "--flaps", "80")
spine = len(pikepdf.open(marked).pages) / 2 * 0.6 + 0.7
for path, width in ((marked, TRIM), (marked.with_suffix(".cover.pdf"), 2 * (TRIM + 80) + spine)):
    with pikepdf.open(path) as pdf:
        check(pdf.check_pdf_syntax() == [], f"{path.name}: qpdf finds {pdf.check_pdf_syntax()[:3]}")
        colours(pdf, path.name, "pictures")
        check(pdf.Root.OutputIntents[0].OutputConditionIdentifier == "Custom", f"{path.name}: condition")
        for page in pdf.pages:
            m, b, t = ([float(v) / MM for v in page[k]] for k in ("/MediaBox", "/BleedBox", "/TrimBox"))
            check(np.allclose(m, [0, 0, width + 26, TRIM + 26], atol=0.01) and np.allclose(b, [10, 10, width + 16, TRIM + 16], atol=0.01), f"{path.name}: {m} {b}")
            check(np.allclose(t, [13, 13, width + 13, TRIM + 13], atol=0.01), f"{path.name}: trim {t}")
    fonts(path)
numbers = [subprocess.run(["pdftotext", "-f", str(n), "-l", str(n), marked, "-"], capture_output=True, text=True, check=True).stdout.split() for n in {p["page"] for p in marked_certificate["pictures"]}]
check(all(str(n) in words for n, words in zip({p["page"] for p in marked_certificate["pictures"]}, numbers)), f"page numbers: {numbers}")
words = subprocess.run(["pdftotext", marked.with_suffix(".cover.pdf"), "-"], capture_output=True, text=True, check=True).stdout
check(words.count("Ærøskøbing") == (2 if spine >= 6 else 1), f"the cover's words: {words}")

# A zine: every half sheet, by its place alone, is compared with the book's own pages; folded and stacked, they come in order.
THICK = 0.1
for turn in ("short", "long"):
    small, _ = make("small.pdf", "--layout", "facing", "--trim", "140x200mm", "--zine", "A4", "--zine-turn", turn, "--paper-thickness", str(THICK), "--zine-marks")
    with pikepdf.open(small.with_suffix(".zine.pdf")) as pdf:
        check(pdf.check_pdf_syntax() == [], f"zine: qpdf finds {pdf.check_pdf_syntax()[:3]}")
        check(all(np.allclose([float(v) for v in p.MediaBox], [0, 0, 297 * MM, 210 * MM], atol=0.01) for p in pdf.pages), "zine: A4 lying down")
    draw = lambda p: p.render(scale=2).to_numpy()[:, :, :3].astype(np.float32)
    cut = lambda a, left, top: a[round(top) : round(top) + round(400 * MM) - 1, round(left) : round(left) + round(280 * MM) - 1]
    pages = [cut(draw(p), 2 * BLEED * MM, 2 * BLEED * MM) for p in pypdfium2.PdfDocument(small)]
    sides = [draw(p) for p in pypdfium2.PdfDocument(small.with_suffix(".zine.pdf"))]
    soft = lambda a: cv2.GaussianBlur(a, (0, 0), 3)[20:-20, 20:-20]
    pages = [soft(p) for p in pages]

    def page_at(side, sheet, left):
        """The page that lies on the left or right half of a side of a sheet that is `sheet` sheets inside."""
        middle, shift = side.shape[1] / 2, 2 * sheet * THICK * MM
        part = soft(cut(side, middle + shift - 280 * MM if left else middle - shift, (side.shape[0] - 400 * MM) / 2))
        off = [float(np.abs(part - p).mean()) for p in pages]
        check(min(off) < 3, f"zine, sheet {sheet}: no page of the book, {min(off):.2f}")
        return int(np.argmin(off)) + 1

    # Turned over the long edge, the second side is printed upside down.
    sheets = [(f, b[::-1, ::-1] if turn == "long" else b) for f, b in zip(sides[::2], sides[1::2])]
    order = [page_at(side, s, left) for s, (front, back) in enumerate(sheets) for side, left in ((front, False), (back, True))]
    order += [page_at(side, s, left) for s, (front, back) in reversed(list(enumerate(sheets))) for side, left in ((back, False), (front, True))]
    # Empty pages look alike: what stands for one is the first of them.
    same = [int(np.argmin([np.abs(p - q).mean() for q in pages])) + 1 for p in pages]
    check(order == same and len(order) == len(pages), f"zine over the {turn} edge: {order}, not {same}")

# The deck's marks are read from its page.
deck = pypdfium2.PdfDocument(cmyk.with_suffix(".deck.pdf"))
codes = set()
for page in deck:
    grey = cv2.cvtColor(page.render(scale=300 / 72).to_numpy()[:, :, :3].copy(), cv2.COLOR_BGR2GRAY)
    found, texts, *_ = cv2.QRCodeDetector().detectAndDecodeMulti(grey)
    codes |= set(t for t in texts if t) if found else set()
check(len(codes & seen) >= 0.8 * len(seen), f"the deck's marks: {sorted(codes)} of {sorted(seen)}")

# Words of several scripts in one book, read back in reading order by two readers. Order within a line is UAX #9's; what is expected is
# what was typed. Fonts for Hebrew, Arabic and Japanese are excerpts of open ones (tests/faces); Greek and Cyrillic are the book's own.
project, faces = folder / "project", pathlib.Path(__file__).parent.parent / "faces"
done = subprocess.run([program, "take", results.parent / "frames", "--in", project], capture_output=True, text=True)
check(done.returncode in (0, 1), f"take: {done.stderr}")
captions = {"P0001": "הנמל הישן ביפו", "P0002": "ميناء يافا القديم", "P0003": "港の朝、古い写真。", "P0004": "Ο παλιός λιμένας", "P0005": "Старая пристань у маяка",
            "P0007": "הנמל הישן ביפו ליד המגדלור הגדול והספינות הקטנות בים", "P0008": "Ærø, “Łódź” 88 ½"}
subprocess.run([program, "privacy", "open", "--in", project], check=True, capture_output=True)
for name, words in captions.items():
    subprocess.run([program, "describe", name, "--in", project, "--title", words, "--date", "1968-07"], check=True, capture_output=True)
plain = [program, "book", "--in", project, "--all", "--no-system-fonts", "--dated", "2026-11-25", "--printer", icc, "--layout", "facing"]
refused = subprocess.run([*plain, "--out", folder / "none.pdf"], capture_output=True, text=True)
lacking = {c for w in captions.values() for c in w if unicodedata.name(c).split()[0] in ("HEBREW", "ARABIC", "CJK", "HIRAGANA", "IDEOGRAPHIC")}
check(refused.returncode == 2 and not (folder / "none.pdf").exists(), "a book without fonts for its words is made")
check(all(f"U+{ord(c):04X}" in refused.stderr + refused.stdout for c in lacking), f"not all of {sorted(lacking)} are named: {refused.stderr}")
named = sum((["--font", faces / f] for f in ("hebrew.ttf", "arabic.ttf", "japanese.otf")), [])
several, twice = folder / "several.pdf", folder / "twice.pdf"
for out in (several, twice):
    subprocess.run([*plain, *named, "--out", out], capture_output=True)
check(several.read_bytes() == twice.read_bytes(), "several scripts: the same words give other bytes")
pdf = pikepdf.open(several)
check(pdf.check_pdf_syntax() == [], "several scripts: qpdf finds a fault")
info = subprocess.run(["pdfinfo", several], capture_output=True, text=True, check=True)
check("PDF/X-4" in info.stdout and not info.stderr.strip(), f"several scripts: {info.stderr}")
boxes(pdf, "several.pdf")
colours(pdf, "several.pdf", "pictures")
fonts(several)
kinds = subprocess.run(["pdffonts", several], capture_output=True, text=True, check=True).stdout
check("CID TrueType" in kinds and "CID Type 0C" in kinds, f"several scripts: {kinds}")
certificate = json.loads(several.with_suffix(".certificate.json").read_text())
check(certificate["paper_white"], "several scripts: bare paper has ink")
check([f["from"] for f in certificate["fonts"]].count("named") == 3, f"several scripts: {certificate['fonts']}")
reader = pypdfium2.PdfDocument(several)
steering = dict.fromkeys([*range(0x200E, 0x2010), *range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xC], None)
tidy = lambda text: " ".join(text.translate(steering).split())
for name, words in captions.items():
    p = next(p for p in certificate["pictures"] if p["name"] == name)
    by_poppler = subprocess.run(["pdftotext", "-f", str(p["page"]), "-l", str(p["page"]), several, "-"], capture_output=True, text=True, check=True).stdout
    page = reader[p["page"] - 1].get_textpage()
    for who, text in (("poppler", by_poppler), ("PDFium", page.get_text_range())):
        check(words in tidy(text), f"{name}: {who} reads {tidy(text)!r}, not {words!r}")
    # Aligned by its own direction: right-to-left words end at the right under the print, 7 mm beside its edge for the number.
    letters = [page.get_charbox(i) for i in range(page.count_chars()) if page.get_text_range(i, 1) in words and page.get_text_range(i, 1).isalpha()]
    left, right = min(b[0] for b in letters) / MM - BLEED, max(b[2] for b in letters) / MM - BLEED
    if words[0] in captions["P0001"] or words[0] in captions["P0002"]:
        check(abs(p["print_mm"][0] + p["print_mm"][2] - 7 - right) < 0.6, f"{name}: words end at {right:.2f} mm")
    else:
        check(abs(p["print_mm"][0] + 7 - left) < 0.6, f"{name}: words begin at {left:.2f} mm")
print(f"book: {checks} checks passed; true size within {100 * worst[0]:.3f} %, place within {worst[1]:.3f} mm")
