// The inner loops of a shot, on pixels of four floats: R G B and coverage. Coverage is
// multiplied into the colours here ("premultiplied"), so that layers add up as light does.

#include "lens.h"
#include <math.h>
#include <string.h>

typedef float v4 __attribute__((vector_size(16), aligned(4)));

static inline v4 load(const float *p) { return *(const v4 *)p; }
static inline void store(float *p, v4 v) { *(v4 *)p = v; }

// slice adds the pixels of one row whose blur s (pixels, signed: positive is behind the
// focus) belongs to a slice into a row of cells, each 1 << level pixels wide. A pixel with
// s in (stop, full] is taken whole, one in (full, start] by how near it is to full, unless
// hard. first and last are widened to the cells that were touched.
void slice(float *cells, const float *pix, const float *s, int n, int level,
           float start, float full, float stop, int hard, float weight, int *first, int *last) {
	float ramp = hard ? 0 : 1 / (start - full);
	int lo = *first, hi = *last;
	for (int x = 0; x < n; x++) {
		float d = s[x];
		if (!(d > stop && d <= start))
			continue;
		float a = pix[4 * x + 3];
		if (a == 0)
			continue;
		if (d > full) {
			if (hard)
				continue;
			a *= (start - d) * ramp;
		}
		a *= weight;
		v4 c = load(pix + 4 * x);
		c[3] = 1;
		int k = x >> level;
		store(cells + 4 * k, load(cells + 4 * k) + c * a);
		if (k < lo)
			lo = k;
		if (k > hi)
			hi = k;
	}
	*first = lo;
	*last = hi;
}

// convolve applies a (2r+1) x (2r+1) kernel to cells x0..x1-1 of one row. at holds where in
// cells each of the 2r+1 rows around it begins, negative where there is nothing; a row has w
// cells.
void convolve(float *out, const float *cells, const long *at, const float *kernel, int r, int w, int x0, int x1) {
	for (int x = x0; x < x1; x++) {
		v4 sum = {0, 0, 0, 0};
		int from = x - r < 0 ? r - x : 0;
		int to = x + r >= w ? w - 1 - x + r : 2 * r;
		for (int j = 0; j <= 2 * r; j++) {
			if (at[j] < 0)
				continue;
			const float *k = kernel + j * (2 * r + 1);
			const float *p = cells + 4 * (at[j] + x - r);
			for (int i = from; i <= to; i++)
				sum += load(p + 4 * i) * k[i];
		}
		store(out + 4 * x, sum);
	}
}

// lay puts one row of a slice over a row of the picture: out = out (1 - a) + slice. The
// slice's rows a and b (weights wa, wb) have cells of 1 << level pixels.
void lay(float *out, int x0, int x1, const float *a, const float *b, float wa, float wb, int w, int level) {
	float size = 1.0f / (1 << level);
	for (int x = x0; x < x1; x++) {
		v4 s;
		if (level == 0) {
			s = load(a + 4 * x);
		} else {
			float fx = (x + 0.5f) * size - 0.5f;
			int i = (int)floorf(fx);
			float t = fx - i;
			int l = i < 0 ? 0 : i, r = i + 1 >= w ? w - 1 : i + 1;
			v4 up = load(a + 4 * l) * (1 - t) + load(a + 4 * r) * t;
			v4 dn = load(b + 4 * l) * (1 - t) + load(b + 4 * r) * t;
			s = up * wa + dn * wb;
		}
		float keep = 1 - (s[3] > 1 ? 1 : s[3]);
		store(out + 4 * x, load(out + 4 * x) * keep + s);
	}
}

// settle divides by the coverage.
void settle(float *pix, int n) {
	for (int i = 0; i < n; i++) {
		float a = pix[4 * i + 3];
		store(pix + 4 * i, load(pix + 4 * i) * (a > 1e-6f ? 1 / a : 0));
	}
}

// resample takes one row of the frame from the larger picture: pixel x comes from
// (u + du x, v + dv x), by Lanczos weights of six pixels along either axis.
void resample(float *out, int n, const float *pix, int w, int h, double u, double v, double du, double dv,
              const float *lanczos, int phases) {
	for (int x = 0; x < n; x++, u += du, v += dv) {
		double fu = floor(u), fv = floor(v);
		int iu = (int)fu - 2, iv = (int)fv - 2;
		const float *ku = lanczos + 6 * (int)((u - fu) * phases + 0.5);
		const float *kv = lanczos + 6 * (int)((v - fv) * phases + 0.5);
		v4 sum = {0, 0, 0, 0};
		if (iu >= 0 && iv >= 0 && iu + 5 < w && iv + 5 < h) {
			const float *p = pix + 4 * ((long)iv * w + iu);
			for (int j = 0; j < 6; j++, p += 4L * w)
				sum += (load(p) * ku[0] + load(p + 4) * ku[1] + load(p + 8) * ku[2] + load(p + 12) * ku[3] +
				        load(p + 16) * ku[4] + load(p + 20) * ku[5]) * kv[j];
		} else {
			for (int j = 0; j < 6; j++) {
				int y = iv + j < 0 ? 0 : iv + j >= h ? h - 1 : iv + j;
				for (int i = 0; i < 6; i++) {
					int q = iu + i < 0 ? 0 : iu + i >= w ? w - 1 : iu + i;
					sum += load(pix + 4 * ((long)y * w + q)) * (ku[i] * kv[j]);
				}
			}
		}
		store(out + 4 * x, sum);
	}
}

static inline unsigned next(unsigned *state) {
	unsigned s = *state;
	s ^= s << 13;
	s ^= s >> 17;
	s ^= s << 5;
	return *state = s;
}

// develop turns one row of light into bytes: gains by channel, vignetting by the distance
// from the axis, veil added, shot and read noise, clipping, the sRGB code (table of codes
// for light 0..1).
void develop(unsigned char *out, const float *pix, int n, const float *gain, float vignette, float y2, float cx,
             float scale, float veil, float electrons, float read, const float *gauss, unsigned seed,
             const unsigned char *code, int codes) {
	unsigned state = seed | 1;
	for (int i = 0; i < 8; i++)
		next(&state);
	for (int x = 0; x < n; x++) {
		float dx = (x - cx) * scale;
		float k = 1 / (1 + vignette * (dx * dx + y2));
		k = k * k;
		for (int c = 0; c < 3; c++) {
			float l = pix[4 * x + c] * k + veil;
			if (electrons > 0) {
				float lit = l > 0 ? l : 0;
				// 1024 different values of a Gaussian, picked at random.
				l += gauss[next(&state) >> 22] * sqrtf(lit / electrons + read * read);
			}
			l *= gain[c];
			l = l < 0 ? 0 : l > 1 ? 1 : l;
			out[3 * x + c] = code[(int)(l * codes + 0.5f)];
		}
	}
}
