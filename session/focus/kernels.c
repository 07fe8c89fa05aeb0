// The inner loops of the fit, written so that the compiler makes vectors of them: over candidate places,
// which do not depend on each other, so that the numbers are the same however many go at once.

#include "kernels.h"
#include <math.h>

// Wider vectors where the processor has them, chosen when the program starts.
#if defined(__x86_64__) && defined(__gnu_linux__) && defined(__GNUC__) && !defined(__clang__)
#define WIDE __attribute__((target_clones("avx2", "default")))
#else
#define WIDE
#endif

enum { BLOCK = 32 };

// costs is for `width` places at once, a constant wherever it is put in.
static inline __attribute__((always_inline)) void costs(const int width, double *cost, int count, int first, double from,
	double span, int of, const struct tile *t, const double *tables, const struct weighing *by) {
	const double error = by->error, own = by->own, huber = by->huber, longest = by->longest;
	const double per_pixel = by->per_pixel, weigh_shared = 1 / (by->shared * by->shared);
	double at[BLOCK], total[BLOCK], wide[BLOCK], narrow[BLOCK], lnh[WINDOW][BLOCK], over[WINDOW][BLOCK];
	double gains[BANDS][BLOCK], vague[BANDS][BLOCK];
	int known[BANDS];
	for (int k = 0; k < width; k++) {
		at[k] = from + span * (first + k) / of;
		total[k] = 0;
		wide[k] = narrow[k] = 1;
	}
	for (int b = 0; b < BANDS; b++) {
		const double *left = tables + t->log[b];
		double sw[BLOCK], sr[BLOCK], sh[BLOCK], shh[BLOCK], shr[BLOCK];
		for (int k = 0; k < width; k++)
			sw[k] = sr[k] = sh[k] = shh[k] = shr[k] = 0;
		int any = 0;
		for (int r = 0; r < t->n; r++) {
			const double s = t->s[r], e = t->most[b][r], above = t->above[b][r], least = error + t->doubt[b][r];
			any |= above > 0;
			for (int k = 0; k < width; k++) {
				double d = fabs(s - at[k]);
				double x = (d < longest ? d : longest) * per_pixel;
				int i = (int)x;
				double h = left[i] + (x - i) * (left[i + 1] - left[i]);
				double inv = 1 / (least - own * (h > -8 ? h : -8));
				double q = inv * inv * above, res = e - h;
				lnh[r][k] = h;
				over[r][k] = inv;
				sw[k] += q;
				sr[k] += q * res;
				sh[k] += q * h;
				shh[k] += q * h * h;
				shr[k] += q * h * res;
			}
		}
		known[b] = any;
		if (!any)
			continue;
		double gain[BLOCK], factor[BLOCK];
		for (int k = 0; k < width; k++) {
			double hh = shh[k] - sh[k] * sh[k] / sw[k], hr = shr[k] - sh[k] * sr[k] / sw[k];
			factor[k] = hr / (hh + weigh_shared);
			gain[k] = (sr[k] - factor[k] * sh[k]) / sw[k];
			total[k] += factor[k] * factor[k] * weigh_shared;
			gains[b][k] = gain[k];
			vague[b][k] = 1 / sw[k];
			wide[k] *= 1 + hh / weigh_shared;
			factor[k] += 1;
		}
		for (int r = 0; r < t->n; r++) {
			const double e = t->most[b][r], f = t->floor[b][r], least = error + t->doubt[b][r];
			for (int k = 0; k < width; k++) {
				// Below the floor nothing is known but that it is below.
				double model = gain[k] + factor[k] * lnh[r][k];
				double x = fabs(e - (model > f ? model : f)) * over[r][k];
				double part = over[r][k] * least;
				total[k] += x > huber ? 2 * huber * x - huber * huber : x * x;
				narrow[k] *= part * part;
			}
		}
	}
	// The tile's traits, against the usual ones: the coarsest band's gain, and by how much each other is above the next.
	for (int b = 0; b < BANDS; b++) {
		const int last = b + 1 == BANDS;
		const double usual = t->usual[b], spread = t->spread[b];
		if (!(spread > 0) || !known[b] || (!last && !known[b + 1]))
			continue;
		for (int k = 0; k < width; k++) {
			double trait = gains[b][k] - (last ? 0 : gains[b + 1][k]);
			double v = spread * spread + vague[b][k] + (last ? 0 : vague[b + 1][k]);
			double x = fabs(trait - usual) / sqrt(v);
			total[k] += x > huber ? 2 * huber * x - huber * huber : x * x;
		}
	}
	// A likelihood is the less, the wider the spread that it allows itself.
	for (int k = 0; k < width && first + k < count; k++)
		cost[first + k] = total[k] + log(wide[k] / narrow[k]);
}

WIDE void tile_costs(double *cost, int count, double from, double span, int of, const struct tile *t,
	const double *tables, const struct weighing *by) {
	for (int first = 0; first < count;) {
		int more = count - first;
#define COSTS(width) costs(width, cost, count, first, from, span, of, t, tables, by), first += width
		if (more > 24)
			COSTS(32);
		else if (more > 16)
			COSTS(24);
		else if (more > 8)
			COSTS(16);
		else if (more > 4)
			COSTS(8);
		else
			COSTS(4);
#undef COSTS
	}
}

static inline __attribute__((always_inline)) void lefts(const int width, double *left, int count, int first, double from,
	double pitch, double blur, const struct reading *all, int n, const double *tables, const struct weighing *by) {
	// Logarithms of spreads are taken of products that are sure to be numbers.
	enum { TOGETHER = 32 };
	const double error = by->error, relative = by->relative, huber = by->huber, longest = by->longest, per_pixel = by->per_pixel;
	const double shared = by->shared, weigh_shared = 1 / (shared * shared);
	double at[BLOCK], total[BLOCK], wide[BLOCK], xx[BANDS][BLOCK], xr[BANDS][BLOCK];
	for (int k = 0; k < width; k++) {
		at[k] = from + pitch * (first + k);
		total[k] = 0;
		for (int b = 0; b < BANDS; b++)
			xx[b][k] = xr[b][k] = 0;
	}
	for (int q = 0; q < n; q += TOGETHER) {
		for (int k = 0; k < width; k++)
			wide[k] = 1;
		for (int i = q; i < q + TOGETHER && i < n; i++) {
			const struct reading *r = all + i;
			const double *log = tables + r->log, *slope = tables + r->slope;
			const double place = r->place, sd = r->sd, gain = r->gain, variance = r->variance, most = r->most, floor = r->floor;
			const double held = r->held, shift = r->shift;
			double *xxb = xx[r->band], *xrb = xr[r->band];
			const int below = !(most > floor);
			for (int k = 0; k < width; k++) {
				double off = place - at[k];
				double d = sqrt(off * off + blur * blur);
				double x = (d < longest ? d : longest) * per_pixel;
				int e = (int)x;
				double f = x - e;
				double lnh = log[e] + f * (log[e + 1] - log[e]);
				// Where the tile lies decides what it would have in focus as well.
				double by_place = (shift + (slope[e] + f * (slope[e + 1] - slope[e])) * (off / (d > 1e-9 ? d : 1e-9))) * sd;
				double own = error - relative * (lnh > -8 ? lnh : -8);
				double model = gain + lnh, moves = lnh - held;
				double by_law = shared * moves;
				double spread = sqrt(own * own + variance + by_place * by_place + by_law * by_law);
				double res = most - (model > floor ? model : floor);
				double miss = fabs(res) / spread;
				// By the law's error the model moves, as far as it is seen at all, by so much more than the gain.
				moves = model > floor ? moves : 0;
				double weight = (miss > huber ? huber / miss : 1) / (spread * spread);
				xxb[k] += weight * moves * moves;
				xrb[k] += weight * moves * res;
				double part = miss > huber ? 2 * huber * miss - huber * huber : miss * miss;
				// Nothing is learnt where neither the frame nor the model shows detail.
				int none = below & (model < floor);
				total[k] += none ? 0 : part;
				wide[k] *= none ? 1 : spread / error;
			}
		}
		for (int k = 0; k < width && first + k < count; k++)
			total[k] += 2 * log(wide[k]);
	}
	// The law's error that a band's readings have in common, by one step from none.
	for (int b = 0; b < BANDS; b++)
		for (int k = 0; k < width; k++)
			total[k] -= xr[b][k] * xr[b][k] / (xx[b][k] + weigh_shared) - log(1 + xx[b][k] / weigh_shared);
	for (int k = 0; k < width && first + k < count; k++)
		left[first + k] = total[k];
}

WIDE void unexplained(double *left, int count, double from, double pitch, double blur, const struct reading *all, int n,
	const double *tables, const struct weighing *by) {
	for (int first = 0; first < count;) {
		int more = count - first;
#define LEFTS(width) lefts(width, left, count, first, from, pitch, blur, all, n, tables, by), first += width
		if (more > 12)
			LEFTS(16);
		else if (more > 8)
			LEFTS(12);
		else if (more > 4)
			LEFTS(8);
		else
			LEFTS(4);
#undef LEFTS
	}
}
