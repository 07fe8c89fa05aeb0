// The inner loops of a view and of a comparison, written so that the compiler makes vectors
// of them. Edges are fixed-point numbers, 1 being ONE: sums of products then are whole
// numbers, which may be added up in any order.

#if defined(__GNUC__) && !defined(__clang__)
#pragma GCC optimize("no-math-errno") // else a root is a call
#endif

#include "kernels.h"
#include <math.h>
#include <string.h>

enum { ONE = 1024 };

// coarse averages a picture of sw x sh pixels of three sRGB bytes over w x h cells, at least a
// pixel each, in linear light.
void coarse(float *out, const unsigned char *small, int sw, int sh, int w, int h, const float *linear) {
	for (int y = 0; y < h; y++) {
		int y0 = y * sh / h, y1 = (y + 1) * sh / h;
		y1 = y1 > y0 ? y1 : y0 + 1;
		for (int x = 0; x < w; x++) {
			int x0 = x * sw / w, x1 = (x + 1) * sw / w;
			x1 = x1 > x0 ? x1 : x0 + 1;
			float r = 0, g = 0, b = 0;
			for (int v = y0; v < y1; v++) {
				for (const unsigned char *p = small + 3 * (v * sw + x0), *end = p + 3 * (x1 - x0); p < end; p += 3) {
					r += linear[p[0]];
					g += linear[p[1]];
					b += linear[p[2]];
				}
			}
			float k = 1.0f / ((y1 - y0) * (x1 - x0));
			*out++ = r * k;
			*out++ = g * k;
			*out++ = b * k;
		}
	}
}

// halve_grey sums bytes, stride a row, over two by two to w x h.
void halve_grey(unsigned short *out, const unsigned char *grey, int stride, int w, int h) {
	for (int y = 0; y < h; y++) {
		const unsigned char *a = grey + 2 * y * stride, *b = a + stride;
		for (int x = 0; x < w; x++)
			out[y * w + x] = a[2 * x] + a[2 * x + 1] + b[2 * x] + b[2 * x + 1];
	}
}

// form gives, by cell of cw x ch over a picture of w x h pixels, the mean square of four
// times what a pixel has over the mean of the four two pixels off. Every second row is
// enough. squares has room for w.
void form(float *mean, const unsigned short *pic, int w, int h, int cw, int ch, float *squares) {
	for (int y = 2, cy = 0; cy < ch; cy++) {
		int rows = 0;
		memset(squares, 0, w * sizeof *squares);
		for (; y < h - 2 && y * ch / h == cy; y += 2, rows++) {
			const unsigned short *row = pic + y * w, *up = row - 2 * w, *down = row + 2 * w;
			for (int x = 2; x < w - 2; x++) {
				float d = 4 * row[x] - row[x - 2] - row[x + 2] - up[x] - down[x];
				squares[x] += d * d;
			}
		}
		for (int c = 0; c < cw; c++) {
			int x0 = c * w / cw, x1 = (c + 1) * w / cw;
			x0 = x0 > 2 ? x0 : 2;
			x1 = x1 < w - 2 ? x1 : w - 2;
			float e = 0;
			for (int x = x0; x < x1; x++)
				e += squares[x];
			int n = rows * (x1 - x0);
			mean[cy * cw + c] = e / (n > 0 ? n : 1);
		}
	}
}

// edges averages pic, which has stride values a row, each four grey values 0..255 in one,
// over two by two to w x h pixels, and measures the direction of their edges: dir gets
// cosine and sine of the doubled angle, mag their length, 0 (flat) to ONE (a clear edge).
// The outermost pixels have none. pixels has room for w x h.
void edges(short *dir, short *mag, const unsigned short *pic, int stride, int w, int h, float *pixels) {
	// The difference of grey values over two pixels from which on an edge is more than the
	// noise of a good frame.
	const float distinct = 3;
	for (int y = 0; y < h; y++) {
		const unsigned short *a = pic + 2 * y * stride, *b = a + stride;
		for (int x = 0; x < w; x++)
			pixels[y * w + x] = (a[2 * x] + a[2 * x + 1] + b[2 * x] + b[2 * x + 1]) * (1.0f / 16);
	}
	for (int y = 1; y < h - 1; y++) {
		const float *up = pixels + (y - 1) * w, *row = up + w, *down = row + w;
		short *d = dir + 2 * y * w, *m = mag + y * w;
		for (int x = 1; x < w - 1; x++) {
			// Sobel's weights, without their factor of 4.
			float gx = (2 * (row[x + 1] - row[x - 1]) + up[x + 1] - up[x - 1] + down[x + 1] - down[x - 1]) * 0.25f;
			float gy = (2 * (down[x] - up[x]) + down[x - 1] - up[x - 1] + down[x + 1] - up[x + 1]) * 0.25f;
			float xx = gx * gx, yy = gy * gy, k = ONE / (xx + yy + distinct * distinct);
			d[2 * x] = (short)((xx - yy) * k);
			d[2 * x + 1] = (short)(2 * gx * gy * k);
			m[x] = (short)((xx + yy) * k);
		}
	}
}

// fine measures the direction of edges on w x h bytes, each edge against those around it (within
// AROUND pixels along both axes): dir and mag as of edges, and ONE is an edge with none beside.
// logs gives the logarithm of a byte. The outermost pixels have none. work has room for 2 w (h + 1).
void fine(short *dir, short *mag, const unsigned char *grey, int w, int h, const float *logs, float *work) {
	enum { AROUND = 5 };
	const float faint = 0.02; // of the logarithm over a pixel: what noise makes
	float *length = work, *across = work + w * h, *sum = across + w * h, *pixels = across;
	for (int i = 0; i < w * h; i++)
		pixels[i] = logs[grey[i]];
	memset(length, 0, w * h * sizeof *length);
	for (int y = 1; y < h - 1; y++) {
		const float *row = pixels + y * w, *up = row - w, *down = row + w;
		short *d = dir + 2 * y * w;
		for (int x = 1; x < w - 1; x++) {
			float gx = (row[x + 1] - row[x - 1]) * 0.5f, gy = (down[x] - up[x]) * 0.5f;
			float xx = gx * gx, yy = gy * gy, k = ONE / (xx + yy + 1e-9f);
			d[2 * x] = (short)((xx - yy) * k);
			d[2 * x + 1] = (short)(2 * gx * gy * k);
			length[y * w + x] = sqrtf(xx + yy);
		}
	}
	// The mean length around, by running sums down the columns and then along the rows.
	memset(sum, 0, w * sizeof *sum);
	for (int y = 0; y < AROUND && y < h; y++)
		for (int x = 0; x < w; x++)
			sum[x] += length[y * w + x];
	for (int y = 0; y < h; y++) {
		const float *in = length + (y + AROUND) * w, *out = length + (y - AROUND - 1) * w;
		for (int x = 0; x < w; x++) {
			sum[x] += (y + AROUND < h ? in[x] : 0) - (y - AROUND - 1 >= 0 ? out[x] : 0);
			across[y * w + x] = sum[x];
		}
	}
	for (int y = 0; y < h; y++) {
		const float *row = across + y * w;
		int y0 = y > AROUND ? y - AROUND : 0, y1 = y + AROUND < h - 1 ? y + AROUND : h - 1;
		float all = 0;
		for (int x = 0; x < AROUND && x < w; x++)
			all += row[x];
		for (int x = 0; x < w; x++) {
			int x0 = x > AROUND ? x - AROUND : 0, x1 = x + AROUND < w - 1 ? x + AROUND : w - 1;
			if (x + AROUND < w)
				all += row[x + AROUND];
			if (x - AROUND - 1 >= 0)
				all -= row[x - AROUND - 1];
			sum[x] = all / ((y1 - y0 + 1) * (x1 - x0 + 1));
		}
		short *d = dir + 2 * y * w, *m = mag + y * w;
		const float *l = length + y * w;
		for (int x = 0; x < w; x++) {
			float k = l[x] / (l[x] + sum[x] + faint);
			d[2 * x] = (short)(d[2 * x] * k);
			d[2 * x + 1] = (short)(d[2 * x + 1] * k);
			m[x] = (short)(ONE * k);
		}
	}
}

// halve averages directions, of which from has stride a row, over two by two to w x h.
void halve(short *dir, short *mag, const short *from, int stride, int w, int h) {
	for (int y = 0; y < h; y++) {
		const short *a = from + 4 * y * stride, *b = a + 2 * stride;
		for (int x = 0; x < w; x++) {
			int re = (a[4 * x] + a[4 * x + 2] + b[4 * x] + b[4 * x + 2]) / 4;
			int im = (a[4 * x + 1] + a[4 * x + 3] + b[4 * x + 1] + b[4 * x + 3]) / 4;
			dir[2 * (y * w + x)] = (short)re;
			dir[2 * (y * w + x) + 1] = (short)im;
			mag[y * w + x] = (short)sqrtf((float)(re * re + im * im));
		}
	}
}

// agree sums, over w x h pixels of two fields of edges with stride a row, the products of
// directions and those of lengths, in ONE * ONE. A row must not be longer than 1000 pixels.
void agree(const short *adir, const short *amag, const short *bdir, const short *bmag, int stride, int w, int h,
           long long *same, long long *both) {
	long long s = 0, m = 0;
	for (int y = 0; y < h; y++) {
		int rs = 0, rm = 0;
		for (int x = 0; x < 2 * w; x++)
			rs += adir[x] * bdir[x];
		for (int x = 0; x < w; x++)
			rm += amag[x] * bmag[x];
		s += rs;
		m += rm;
		adir += 2 * stride;
		bdir += 2 * stride;
		amag += stride;
		bmag += stride;
	}
	*same = s;
	*both = m;
}

// soften blurs a picture of w x h pixels of three colours with 1 2 1 along both axes; the
// outermost pixels are repeated. across has room for one such picture; out may be in.
void soften(float *out, const float *in, float *across, int w, int h) {
	int n = 3 * w;
	for (int y = 0; y < h; y++) {
		const float *p = in + y * n;
		float *to = across + y * n;
		for (int i = 3; i < n - 3; i++)
			to[i] = (p[i - 3] + 2 * p[i] + p[i + 3]) * 0.25f;
		for (int c = 0; c < 3; c++) {
			int last = n - 3 + c, next = w > 1 ? 3 : 0;
			to[c] = (3 * p[c] + p[c + next]) * 0.25f;
			if (w > 1)
				to[last] = (p[last - 3] + 3 * p[last]) * 0.25f;
		}
	}
	for (int y = 0; y < h; y++) {
		const float *mid = across + y * n, *up = y > 0 ? mid - n : mid, *down = y < h - 1 ? mid + n : mid;
		float *to = out + y * n;
		for (int i = 0; i < n; i++)
			to[i] = (up[i] + 2 * mid[i] + down[i]) * 0.25f;
	}
}

// differ gives, for n cells of one row, how far b differs from a, in stops, when b is ev
// brighter all over. a and b are log2 of luminance at three levels of blur, step values
// apart; acolour and bcolour are log2 of red over green at three levels, then of blue over
// green. The blur of the one that is sharper is matched to the other's: the least
// difference counts over several blurs. Colour counts half: it is noisier in the dark, and a
// lamp's colour drifts.
void differ(float *out, const float *a, const float *acolour, const float *b, const float *bcolour, int n, int step,
            float ev) {
	static const int blurs[5][2] = {{0, 0}, {1, 0}, {0, 1}, {2, 0}, {0, 2}};
	for (int k = 0; k < 5; k++) {
		int p = blurs[k][0] * step, q = blurs[k][1] * step, blue = 3 * step;
		for (int i = 0; i < n; i++) {
			float l = b[q + i] - a[p + i] - ev;
			float r = bcolour[q + i] - acolour[p + i];
			float u = bcolour[blue + q + i] - acolour[blue + p + i];
			float d = l * l + (r * r + u * u) * 0.25f;
			out[i] = k == 0 || d < out[i] ? d : out[i];
		}
	}
	for (int i = 0; i < n; i++)
		out[i] = sqrtf(out[i]);
}
