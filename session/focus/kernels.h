// What is computed for every tile, frame and candidate, see kernels.c.

enum { BANDS = 4, WINDOW = 15 };

// A tile in the frames that it is compared in, n of them: their places, and in every band the
// greater of energy and floor, and the floor (logarithms); above tells the energies over it, doubt is the standard
// deviation of an energy by what is not known of its noise. log holds, by band, where the tile's table of what a disc
// leaves begins in tables. usual and spread are what the tile's traits are among those around, mean and standard
// deviation, see traits.go; a spread of 0 says that nothing is known.
struct tile {
	double s[WINDOW], most[BANDS][WINDOW], floor[BANDS][WINDOW], above[BANDS][WINDOW], doubt[BANDS][WINDOW];
	double usual[BANDS], spread[BANDS];
	int n, log[BANDS];
};

// How the fit weighs: see places.go.
struct weighing {
	double error, own, relative, shared, huber, per_pixel, longest;
};

// tile_costs gives the cost of a tile at count places: from + span k / of, k from 0.
void tile_costs(double *cost, int count, double from, double span, int of, const struct tile *t,
	const double *tables, const struct weighing *by);

// A reading of the frame that is held against the others: see search.go. log and slope are where its tables begin.
struct reading {
	double place, sd, gain, held, shift, variance, most, floor;
	int log, slope, band;
};

// unexplained adds up, over n readings, what is left unexplained of them at count places: from + pitch k, k from 0,
// under a blur.
void unexplained(double *left, int count, double from, double pitch, double blur, const struct reading *all, int n,
	const double *tables, const struct weighing *by);
