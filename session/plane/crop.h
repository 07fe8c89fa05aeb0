/* Part of a JPEG by libjpeg's own interface: TurboJPEG's has none for it before version 3. */
#ifndef PLANE_CROP_H
#define PLANE_CROP_H

#define PLANE_CROP_REASON 200 /* JMSG_LENGTH_MAX */

/*
 * Decodes the w x h pixels at (x, y) of a JPEG that is not progressive to RGB, w * 3 bytes a
 * row. The rectangle must lie inside the picture. Gives 0; 1 and a reason when the file is
 * damaged and the pixels are a guess in part; -1 and a reason when it cannot be decoded.
 */
int plane_crop(const unsigned char *data, unsigned long size, int x, int y, int w, int h,
	unsigned char *out, char *reason);

/* Tells whether plane_crop can decode a JPEG: it is not progressive, and grey or in colour. */
int plane_can_crop(const unsigned char *data, unsigned long size);

#endif
