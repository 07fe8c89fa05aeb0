// The inner loops of a shot, on pixels of four floats: R G B and coverage. Coverage is
// multiplied into the colours here ("premultiplied"), so that layers add up as light does.

#include "lens.h"
#include <math.h>
#include <string.h>

typedef float v4 __attribute__((vector_size(16), aligned(4)));

static inline v4 load(const float *p) { return *(const v4 *)p; }
static inline void store(float *p, v4 v) { *(v4 *)p = v; }

// slice adds the pixels of one row whose blur s (pixels, signed: positive is behind the
// focus) belongs to a slice into cells, each 1 << level pixels wide. The slice stands at
// full; a pixel with s in (stop, start) is taken by how near it is to full, so that it is shared
// out over two slices and counted once. Where
// cells are larger than pixels, each pixel is shared out over the four around it by its
// distance from their middles, so that it stays where it is: rows a and b of w cells, with
// weights wa and wb. first and last are widened to the cells that were touched.
void slice(float *a, float *b, float wa, float wb, const float *pix, const float *s, int n, int w, int level,
           float start, float full, float stop, int *first, int *last) {
	float before = 1 / (start - full), after = 1 / (full - stop);
	float size = 1.0f / (1 << level);
	int lo = *first, hi = *last;
	for (int x = 0; x < n; x++) {
		float d = s[x];
		if (!(d > stop && d < start))
			continue;
		float cover = pix[4 * x + 3] * (d > full ? (start - d) * before : (d - stop) * after);
		if (cover <= 0)
			continue;
		v4 c = load(pix + 4 * x);
		c[3] = 1;
		c *= cover;
		int l = x, r = x;
		if (level == 0) {
			store(a + 4 * x, load(a + 4 * x) + c);
		} else {
			float fx = (x + 0.5f) * size - 0.5f;
			l = (int)(fx + 1) - 1; // fx is -0.5 or more
			float t = fx - l;
			r = l + 1 < w ? l + 1 : w - 1;
			l = l < 0 ? 0 : l;
			v4 cl = c * (1 - t), cr = c * t;
			store(a + 4 * l, load(a + 4 * l) + cl * wa);
			store(a + 4 * r, load(a + 4 * r) + cr * wa);
			store(b + 4 * l, load(b + 4 * l) + cl * wb);
			store(b + 4 * r, load(b + 4 * r) + cr * wb);
		}
		if (l < lo)
			lo = l;
		if (r > hi)
			hi = r;
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

// lay puts one row of a slice over a row of the picture. Together they cover no more than
// everything, and the slice, which is nearer, comes first: the slices of one surface add up,
// those of two hide each other. The slice's rows a and b (weights wa, wb) have cells of 1 <<
// level pixels.
void lay(float *out, int x0, int x1, const float *a, const float *b, float wa, float wb, int w, int level) {
	float size = 1.0f / (1 << level);
	for (int x = x0; x < x1; x++) {
		v4 s;
		if (level == 0) {
			s = load(a + 4 * x);
		} else {
			float fx = (x + 0.5f) * size - 0.5f;
			int i = (int)(fx + 1) - 1; // fx is -0.5 or more
			float t = fx - i;
			int l = i < 0 ? 0 : i, r = i + 1 >= w ? w - 1 : i + 1;
			v4 up = load(a + 4 * l) * (1 - t) + load(a + 4 * r) * t;
			v4 dn = load(b + 4 * l) * (1 - t) + load(b + 4 * r) * t;
			s = up * wa + dn * wb;
		}
		v4 o = load(out + 4 * x);
		float room = 1 - s[3];
		float keep = o[3] <= room ? 1 : room <= 0 ? 0 : room / o[3];
		store(out + 4 * x, o * keep + s);
	}
}

// settle puts the picture of what is in front over that of what is behind, and divides by
// what both cover.
void settle(float *front, const float *back, int n) {
	for (int i = 0; i < n; i++) {
		v4 f = load(front + 4 * i), b = load(back + 4 * i);
		if (f[3] < 1 && b[3] > 1e-3f)
			f += b * ((1 - f[3]) / b[3]);
		store(front + 4 * i, f * (f[3] > 1e-6f ? 1 / f[3] : 0));
	}
}

// resample takes one row of the frame from the larger picture: pixel x comes from
// (u + du x, v + dv x), by Lanczos weights of six pixels along either axis.
void resample(float *out, int n, const float *pix, int w, int h, double u, double v, double du, double dv,
              const float *lanczos, int phases) {
	for (int x = 0; x < n; x++, u += du, v += dv) {
		// The nearest whole number below, also where u and v are a little negative.
		int fu = (int)(u + 4096) - 4096, fv = (int)(v + 4096) - 4096;
		int iu = fu - 2, iv = fv - 2;
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
