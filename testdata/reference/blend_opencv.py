#!/usr/bin/python3
"""Remakes blend_opencv.json: how close a plain blend by OpenCV's kernels comes to the truth on
the made-up stacks of session/blend's tests. Needs Debian's python3-opencv.

    STILLBENCH_FRAMES=/tmp/frames go test -run TestAgainstOpenCV ./session/blend
    /usr/bin/python3 testdata/reference/blend_opencv.py /tmp/frames > testdata/reference/blend_opencv.json

Each frame is laid on the middle one by findTransformECC (affine, coarse to fine), warped
by Lanczos-4, taken apart by pyrDown and pyrUp; at every place of every level the frame
with the most energy (squared luma of the level, Gaussian of 5 x 5) gives the coefficients of
all channels, below them the frames' mean.

With frame files after a first word "time" it blends those into a 16-bit TIFF instead, for a
benchmark: blend_opencv.py time OUT.tif FRAME...
"""
import glob, json, math, os, sys
import cv2
import numpy as np

LEVELS = 6


def lay(reference, frame):
    """The affine movement of frame on reference, both 8-bit grey."""
    h, w = reference.shape
    top = 0
    while max(h, w) >> top > 1024:
        top += 1
    warp = np.eye(2, 3, dtype=np.float32)
    for level in range(top + 2, top - 1, -1):
        k = 1 << level
        size = (w // k, h // k)
        a = cv2.resize(reference, size, interpolation=cv2.INTER_AREA)
        b = cv2.resize(frame, size, interpolation=cv2.INTER_AREA)
        o = (1 / k - 1) / 2
        m = warp.astype(np.float64)
        m[:, 2] = m[:, 2] / k + o - m[:, :2] @ np.array([o, o])
        _, m = cv2.findTransformECC(a, b, m.astype(np.float32), cv2.MOTION_AFFINE,
            (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 100, 1e-7), None, 5)
        o = (k - 1) / 2
        m = m.astype(np.float64)
        m[:, 2] = m[:, 2] * k + o - m[:, :2] @ np.array([o, o])
        warp = m.astype(np.float32)
    return warp


def blend(frames):
    """frames yields 8-bit BGR pictures; the middle one must be given first, with its place."""
    reference, others = frames
    grey = cv2.cvtColor(reference, cv2.COLOR_BGR2GRAY)
    best, energy, base, n = None, None, None, 0
    for p in others:
        if p is not reference:
            m = lay(grey, cv2.cvtColor(p, cv2.COLOR_BGR2GRAY))
            p = cv2.warpAffine(p, m, (p.shape[1], p.shape[0]), flags=cv2.INTER_LANCZOS4 | cv2.WARP_INVERSE_MAP,
                borderMode=cv2.BORDER_REPLICATE)
        level = p.astype(np.float32) / 255
        n += 1
        for k in range(LEVELS):
            down = cv2.pyrDown(level)
            lap = level - cv2.pyrUp(down, dstsize=(level.shape[1], level.shape[0]))
            e = cv2.GaussianBlur(cv2.cvtColor(lap, cv2.COLOR_BGR2GRAY) ** 2, (5, 5), 0)
            if n == 1:
                if k == 0:
                    best, energy = [], []
                best.append(lap)
                energy.append(e)
            else:
                won = e > energy[k]
                best[k][won] = lap[won]
                energy[k][won] = e[won]
            level = down
        base = level if base is None else base + level
    out = base / n
    for lap in reversed(best):
        out = cv2.pyrUp(out, dstsize=(lap.shape[1], lap.shape[0])) + lap
    return np.clip(out, 0, 1)


def luma(bgr):
    return bgr[..., 0] * 0.114 + bgr[..., 1] * 0.587 + bgr[..., 2] * 0.299


def inner(p):
    e = max(p.shape) // 20
    return p[e:p.shape[0] - e, e:p.shape[1] - e]


def psnr(a, b):
    return -10 * math.log10(float(np.mean((inner(a) - inner(b)) ** 2)))


def ssim(a, b):
    g = lambda p: cv2.GaussianBlur(p, (0, 0), 1.5)
    ma, mb = g(a), g(b)
    va, vb, v = g(a * a) - ma * ma, g(b * b) - mb * mb, g(a * b) - ma * mb
    c1, c2 = 0.01 ** 2, 0.03 ** 2
    s = (2 * ma * mb + c1) * (2 * v + c2) / ((ma * ma + mb * mb + c1) * (va + vb + c2))
    return float(np.mean(inner(s)))


if sys.argv[1] == "time":
    names = sys.argv[3:]
    reference = cv2.imread(names[len(names) // 2])
    read = (reference if i == len(names) // 2 else cv2.imread(n) for i, n in enumerate(names))
    cv2.imwrite(sys.argv[2], (blend((reference, read)) * 65535 + 0.5).astype(np.uint16))
    sys.exit()

out = {"opencv": cv2.__version__, "stacks": {}}
for folder in sorted(glob.glob(os.path.join(sys.argv[1], "*", ""))):
    frames = [cv2.imread(f) for f in sorted(glob.glob(os.path.join(folder, "frame*.png")))]
    truth = cv2.imread(os.path.join(folder, "truth.png")).astype(np.float32) / 255
    got = np.round(blend((frames[len(frames) // 2], frames)) * 255) / 255
    a, b = luma(got.astype(np.float64)), luma(truth.astype(np.float64))
    out["stacks"][os.path.basename(os.path.dirname(folder))] = {"psnrDB": round(psnr(a, b), 2), "ssim": round(ssim(a, b), 4)}
json.dump(out, sys.stdout, indent=1)
print()
