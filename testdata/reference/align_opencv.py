#!/usr/bin/python3
"""Remakes align_opencv.json: how well OpenCV's findTransformECC lays the frames of
session/align's tests on each other. Needs Debian's python3-opencv.

    STILLBENCH_FRAMES=/tmp/frames go test -run TestAgainstOpenCV ./session/align
    /usr/bin/python3 testdata/reference/align_opencv.py /tmp/frames > testdata/reference/align_opencv.json

The frames are made up, with known movement. OpenCV is given the best it can use:
a pyramid of four levels, its affine model (it has none of a similarity), its default
blur of 5 pixels, 200 rounds a level.
"""
import json, math, os, sys
import cv2
import numpy as np

folder = sys.argv[1]
out = {"opencv": cv2.__version__, "cases": []}
for case in json.load(open(os.path.join(folder, "cases.json"))):
    a = cv2.imread(os.path.join(folder, case["name"] + "-a.png"), cv2.IMREAD_GRAYSCALE)
    b = cv2.imread(os.path.join(folder, case["name"] + "-b.png"), cv2.IMREAD_GRAYSCALE)
    h, w = a.shape
    warp, error = np.eye(2, 3, dtype=np.float32), None
    try:
        for level in (3, 2, 1, 0):
            k = 1 << level
            pa = cv2.resize(a, (w // k, h // k), interpolation=cv2.INTER_AREA)
            pb = cv2.resize(b, (w // k, h // k), interpolation=cv2.INTER_AREA)
            # Pixel centres: x on a level is (x + 0.5) / k - 0.5.
            def rescale(m, factor):
                m = m.astype(np.float64).copy()
                o = (factor - 1) / 2
                m[:, 2] = factor * m[:, 2] + o - m[:, :2] @ np.array([o, o])
                return m.astype(np.float32)
            warp = rescale(warp, 1 / k)
            _, warp = cv2.findTransformECC(pa, pb, warp, cv2.MOTION_AFFINE,
                (cv2.TERM_CRITERIA_EPS | cv2.TERM_CRITERIA_COUNT, 200, 1e-9), None, 5)
            warp = rescale(warp, k)
    except cv2.error as e:
        error = str(e)
    rms = None
    if error is None:
        # A place of a, from the centre, and where each says it is in b.
        y, x = np.mgrid[0:h:16, 0:w:16].astype(np.float64)
        cx, cy = (w - 1) / 2, (h - 1) / 2
        m = warp.astype(np.float64)
        u, v = m[0, 0] * x + m[0, 1] * y + m[0, 2] - cx, m[1, 0] * x + m[1, 1] * y + m[1, 2] - cy
        s, t = case["scale"], case["turn"]
        px, py = x - cx, y - cy
        tu = s * (math.cos(t) * px - math.sin(t) * py) + case["dx"]
        tv = s * (math.sin(t) * px + math.cos(t) * py) + case["dy"]
        rms = round(float(np.sqrt(np.mean((u - tu) ** 2 + (v - tv) ** 2))), 4)
    out["cases"].append({"name": case["name"], "rmsPixels": rms, "error": error})
json.dump(out, sys.stdout, indent=1)
print()
