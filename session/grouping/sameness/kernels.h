// Declarations for kernels.c; see there.
void coarse(float *out, const unsigned char *small, int sw, int sh, int w, int h, const float *linear);
void halve_grey(unsigned short *out, const unsigned char *grey, int stride, int w, int h);
void form(float *mean, const unsigned short *pic, int w, int h, int cw, int ch, float *squares);
void edges(short *dir, short *mag, const unsigned short *pic, int stride, int w, int h, float *pixels);
void fine(short *dir, short *mag, const unsigned char *grey, int w, int h, const float *logs, float *work);
void halve(short *dir, short *mag, const short *from, int stride, int w, int h);
void agree(const short *adir, const short *amag, const short *bdir, const short *bmag, int stride, int w, int h,
           long long *same, long long *both);
void soften(float *out, const float *in, float *across, int w, int h);
void differ(float *out, const float *a, const float *acolour, const float *b, const float *bcolour, int n, int step,
            float ev);
