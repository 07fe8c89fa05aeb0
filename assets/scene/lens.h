// Declarations for lens.c; see there.
void slice(float *a, float *b, float wa, float wb, const float *pix, const float *s, int n, int w, int level,
           float start, float full, float stop, int *first, int *last);
void convolve(float *out, const float *cells, const long *at, const float *kernel, int r, int w, int x0, int x1);
void lay(float *out, int x0, int x1, const float *a, const float *b, float wa, float wb, int w, int level);
void settle(float *front, const float *back, int n);
void resample(float *out, int n, const float *pix, int w, int h, double u, double v, double du, double dv,
              const float *lanczos, int phases);
void develop(unsigned char *out, const float *pix, int n, const float *gain, float vignette, float y2, float cx,
             float scale, float veil, float electrons, float read, const float *gauss, unsigned seed,
             const unsigned char *code, int codes);
