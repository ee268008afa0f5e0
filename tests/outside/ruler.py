"""Independent readers on the ruler sheet that `fallside ruler` writes.

    python tests/outside/ruler.py target/debug/fallside DIR

Needs numpy, opencv-python-headless, pikepdf, pypdfium2 (pip). Sources: qpdf (in pikepdf) for ISO 32000-1 syntax, PDFium for
the page as a picture, OpenCV for the squares in it and for the ISO/IEC 18004 code. What the file says of itself (the attached
JSON) is held against what its page shows.
"""
import json, pathlib, subprocess, sys
import cv2, numpy as np, pikepdf, pypdfium2

program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
folder.mkdir(parents=True, exist_ok=True)
PX = 20  # pixels per millimetre of the picture
checks = 0


def check(truth, what):
    global checks
    checks += 1
    if not truth:
        sys.exit(f"ruler: {what}")


def light(code):
    c = code / 255
    return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4  # IEC 61966-2-1


for paper, size, bar in [("a4", (297, 210), None), ("letter", (279.4, 215.9), "149.2")]:
    path = folder / f"ruler-{paper}.pdf"
    words = ["ruler", "--paper", paper, "--out", str(path)] + (["--bar-mm", bar] if bar else [])
    subprocess.run([program, *words], check=True, stdout=subprocess.DEVNULL)
    with pikepdf.open(path) as pdf:
        check(pdf.check_pdf_syntax() == [], f"{paper}: qpdf finds faults")
        box = [float(v) for v in pdf.pages[0].MediaBox]
        check(np.allclose(box, [0, 0, *(v * 72 / 25.4 for v in size)], atol=1e-3), f"{paper}: page {box}")
        known = json.loads(pdf.attachments["ruler.json"].get_file().read_bytes())
        with pdf.open_metadata() as xmp:
            check(xmp["dc:description"].startswith(f"fallside.ruler/1 {paper}"), f"{paper}: XMP")
    drawn = known["drawn"]
    check(abs(drawn - (150 / float(bar) if bar else 1)) < 1e-9, f"{paper}: drawn {drawn}")
    page = pypdfium2.PdfDocument(path)[0].render(scale=PX * 25.4 / 72).to_numpy()
    grey = page[:, :, 1].copy()
    # The reader rounds the page up to whole pixels: its own scale each way.
    kx, ky = grey.shape[1] / size[0], grey.shape[0] / size[1]
    place = lambda x, y: ((x * drawn + size[0] / 2) * kx, (y * drawn + size[1] / 2) * ky)
    pitch, slant = known["pitch_mm"], np.radians(known["slant_deg"])
    far = 0
    for row, codes in zip(range(known["rows"][0], known["rows"][1] + 1), known["codes"], strict=True):
        for col, code in zip(range(known["columns"][0], known["columns"][1] + 1), codes, strict=True):
            u, v = place(col * pitch, row * pitch)
            if code is None:
                step = next(s for s in known["steps"] if (s["column"], s["row"]) == (col, row))
                check(abs(light(int(grey[int(v), int(u)])) - step["reflectance"]) < 0.01, f"{paper}: step {col} {row}")
                continue
            for i in range(9):
                dx, dy = (i % 3 - 1) * known["code_cell_mm"], (i // 3 - 1) * known["code_cell_mm"]
                x, y = dx * np.cos(slant) - dy * np.sin(slant), dx * np.sin(slant) + dy * np.cos(slant)
                a, b = place(col * pitch + x, row * pitch + y)
                check((grey[int(b), int(a)] > 128) == bool(code >> i & 1), f"{paper}: code of {col} {row}, bit {i}")
            half = int(7.5 * PX)
            cut = grey[int(v) - half : int(v) + half, int(u) - half : int(u) + half] < 128
            shape = max(cv2.findContours(cut.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)[0], key=cv2.contourArea)
            (cx, cy), (w, h), angle = cv2.minAreaRect(shape)
            # Contours run through the middles of rim pixels: whole pixels are one wider, and start half of one earlier.
            at = np.array([int(u) - half + cx + 0.5 - u, int(v) - half + cy + 0.5 - v]) / PX
            far = max(far, np.abs(at).max(), abs((w + h) / 2 + 1 - known["square_mm"] * drawn * PX) / PX)
            check(abs(angle % 90 - known["slant_deg"]) < 0.6, f"{paper}: square {col} {row} turned by {angle % 90}")
    check(far < 0.06, f"{paper}: a square is {far:.3f} mm off")
    for bar_known, axis in zip(known["bars"], [1, 0], strict=True):
        (ax, ay), (bx, by) = place(*bar_known["from"]), place(*bar_known["to"])
        line = grey[int(ay), :] if axis else grey[:, int(ax)]
        start, end = (ax, bx) if axis else (ay, by)
        dark = np.nonzero(line[int(start) - 40 : int(end) + 40] < 128)[0]
        length = (dark[-1] - dark[0] + 1) / (kx if axis else ky)
        check(abs(length - 150 * drawn) < 0.1, f"{paper}: bar of {length} mm")
    corner = cv2.copyMakeBorder(grey[int(0.86 * grey.shape[0]) :, int(0.75 * grey.shape[1]) :], 50, 50, 50, 50, cv2.BORDER_CONSTANT, value=255)
    says = cv2.QRCodeDetector().detectAndDecode(corner)[0]
    check(says == f"fallside.ruler/1 {paper} {drawn:.5f}", f"{paper}: the code says {says!r}")
print(f"ruler: {checks} checks passed")
