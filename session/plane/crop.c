#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include "crop.h"

/* How far round the rectangle is decoded: a pixel's colour is made of its neighbours' as well,
 * which libjpeg does not look for beyond the part that it is asked for. */
#define ROUND 32

struct fault {
	struct jpeg_error_mgr mgr; /* first: libjpeg knows this one only */
	jmp_buf back;
	char *reason;
};

static void leave(j_common_ptr c) {
	struct fault *f = (struct fault *)c->err;
	f->mgr.format_message(c, f->reason);
	longjmp(f->back, 1);
}

/* A warning: the first one is kept. */
static void note(j_common_ptr c, int level) {
	struct fault *f = (struct fault *)c->err;
	if (level < 0 && f->mgr.num_warnings++ == 0)
		f->mgr.format_message(c, f->reason);
}

static void begin(struct jpeg_decompress_struct *d, struct fault *f, char *reason) {
	memset(d, 0, sizeof *d);
	d->err = jpeg_std_error(&f->mgr);
	f->mgr.error_exit = leave;
	f->mgr.emit_message = note;
	f->reason = reason;
}

int plane_can_crop(const unsigned char *data, unsigned long size) {
	struct jpeg_decompress_struct d;
	struct fault f;
	char reason[PLANE_CROP_REASON];
	volatile int can = 0;
	begin(&d, &f, reason);
	if (setjmp(f.back) == 0) {
		jpeg_create_decompress(&d);
		jpeg_mem_src(&d, data, size);
		jpeg_read_header(&d, TRUE);
		can = !d.progressive_mode && !jpeg_has_multiple_scans(&d) &&
			(d.jpeg_color_space == JCS_GRAYSCALE || d.jpeg_color_space == JCS_YCbCr || d.jpeg_color_space == JCS_RGB);
	}
	jpeg_destroy_decompress(&d);
	return can;
}

int plane_crop(const unsigned char *data, unsigned long size, int x, int y, int w, int h,
	unsigned char *out, char *reason) {
	struct jpeg_decompress_struct d;
	struct fault f;
	unsigned char *volatile row = NULL;
	volatile int rc = -1;
	begin(&d, &f, reason);
	if (setjmp(f.back) == 0) {
		jpeg_create_decompress(&d);
		jpeg_mem_src(&d, data, size);
		jpeg_read_header(&d, TRUE);
		d.out_color_space = JCS_RGB;
		jpeg_start_decompress(&d);
		JDIMENSION left = x > ROUND ? x - ROUND : 0, top = y > ROUND ? y - ROUND : 0;
		JDIMENSION right = (JDIMENSION)x + w + ROUND, bottom = (JDIMENSION)y + h;
		if (right > d.output_width)
			right = d.output_width;
		JDIMENSION wide = right - left;
		jpeg_crop_scanline(&d, &left, &wide); /* moves left, widens, to whole blocks */
		row = malloc((size_t)3 * d.output_width);
		if (row == NULL) {
			snprintf(reason, PLANE_CROP_REASON, "out of memory");
		} else {
			if (top > 0)
				jpeg_skip_scanlines(&d, top);
			while (d.output_scanline < bottom) {
				JDIMENSION at = d.output_scanline;
				JSAMPROW rows[1] = {row};
				jpeg_read_scanlines(&d, rows, 1);
				if (at >= (JDIMENSION)y)
					memcpy(out + (size_t)3 * w * (at - y), row + (size_t)3 * (x - left), (size_t)3 * w);
			}
			rc = f.mgr.num_warnings > 0;
			jpeg_abort_decompress(&d);
		}
	}
	free(row);
	jpeg_destroy_decompress(&d);
	return rc;
}
