package exifread

import (
	"bytes"
	"strings"
)

// Tags that say where pictures stand in a TIFF (TIFF 6.0 sections 3, 8, 15 and 22;
// SubIFDs: Adobe TIFF Technical Note 1; the last: DNG 1.4 chapter 4).
const (
	tagNewSubfileType = 0x00FE
	tagImageWidth     = 0x0100
	tagImageLength    = 0x0101
	tagCompression    = 0x0103
	tagPhotometric    = 0x0106
	tagStripOffsets   = 0x0111
	tagStripCounts    = 0x0117
	tagTileOffsets    = 0x0144
	tagTileCounts     = 0x0145
	tagSubIFDs        = 0x014A
	tagJPEGOffset     = 0x0201
	tagJPEGLength     = 0x0202
	tagXMP            = 0x02BC
	tagDNGVersion     = 0xC612
	tagDNGPrivate     = 0xC634
)

// detect tells what a file is from its first bytes.
func detect(src *source) (string, error) {
	if src.size == 0 {
		return "", brokenAt(0, "the file is empty")
	}
	head, err := src.bytes(0, int(min(src.size, 32)))
	if err != nil {
		return "", err
	}
	has := func(s string) bool { return bytes.HasPrefix(head, []byte(s)) }
	switch {
	case has("\xFF\xD8\xFF"):
		return jpegFile, nil
	case has("\x89PNG\r\n\x1a\n"):
		return pngFile, nil
	case has("FUJIFILMCCD-RAW"):
		return rafFile, nil
	case has("IIRO"), has("IIRS"), has("MMOR"):
		return orfFile, nil
	case has("IIU\x00"):
		return rw2File, nil
	case has("II*\x00") && len(head) >= 10 && string(head[8:10]) == "CR":
		return cr2File, nil
	case has("II*\x00"), has("MM\x00*"), has("II+\x00"), has("MM\x00+"):
		return tiffFile, nil // or a raw format that its tags will tell
	case len(head) >= 12 && string(head[4:8]) == "ftyp":
		return boxBrand(string(head[8:12]))
	case bytes.Count(head, []byte{0}) == len(head):
		return "", brokenAt(0, "the file begins with zeros only")
	}
	return "", &UnsupportedError{What{Form: "not a picture of a kind that is read here"}}
}

// tiffShaped reads TIFF and the raw formats built on it.
func (x *extractor) tiffShaped() error {
	b, first, err := header(x.src, 0, x.src.size)
	if err != nil {
		return err
	}
	all, err := x.tree(b, first)
	if len(all) == 0 {
		return err
	}
	if err != nil {
		x.missing(err)
	}
	zeroth := all[0]
	if x.m.Container == tiffFile {
		x.m.Container = rawKind(zeroth, all)
	}
	x.facts(zeroth)
	x.sensorImage(zeroth, all)
	if x.m.Container == rw2File {
		x.rw2(zeroth)
	}
	return nil
}

// maxBlocks bounds the EXIF blocks of one file. Two or three have been seen, left by
// editors one behind the other.
const maxBlocks = 8

// tiffBlock reads the EXIF block at off of src: 0th IFD, Exif IFD, maker note,
// thumbnail.
func (x *extractor) tiffBlock(src *source, off, end int64) {
	if x.blocks >= maxBlocks {
		return
	}
	x.blocks++
	b, first, err := header(src, off, end)
	if err != nil {
		x.missing(err)
		return
	}
	all, err := x.tree(b, first)
	if err != nil {
		x.missing(err)
	}
	if len(all) > 0 {
		x.facts(all[0])
	}
}

// maxSubIFDs bounds the pictures below one directory; raw files have up to four.
const maxSubIFDs = 16

// tree reads the chain of directories from offset first and the SubIFDs of each,
// and notes the JPEGs that they announce. An error leaves what came before it.
func (x *extractor) tree(b block, first int64) (all []*directory, err error) {
	for off := first; off != 0; {
		dir, lost, err := x.dirs.read(b, off)
		if lost > 0 {
			x.missing(brokenAt(dir.at, "values of this directory lie beyond the end"))
		}
		if len(dir.entries) > 0 || err == nil {
			all = append(all, &dir)
			x.announced(&dir)
		}
		if err != nil {
			return all, err
		}
		for _, sub := range dir.all(tagSubIFDs, maxSubIFDs) {
			child, _, err := x.dirs.read(b, int64(sub))
			if err != nil {
				x.missing(err)
			}
			if len(child.entries) > 0 {
				all = append(all, &child)
				x.announced(&child)
			}
		}
		off = dir.next
	}
	return all, nil
}

// announced notes the JPEG that a directory points at: by the pair of tags of TIFF
// 6.0 section 22, or as a single strip or tile of compression 6 or 7. In a block
// that was gathered from several places an offset is no place in the file.
func (x *extractor) announced(d *directory) {
	if d.src != x.src {
		return
	}
	if off, ok := d.uint(tagJPEGOffset); ok {
		length, _ := d.uint(tagJPEGLength)
		x.candidate(d.base+int64(off), int64(length))
	}
	if c, _ := d.uint(tagCompression); c != 6 && c != 7 {
		return
	}
	for _, pair := range [2][2]uint16{{tagStripOffsets, tagStripCounts}, {tagTileOffsets, tagTileCounts}} {
		offs, counts := d.all(pair[0], 2), d.all(pair[1], 2)
		if len(offs) == 1 && len(counts) == 1 {
			x.candidate(d.base+int64(offs[0]), int64(counts[0]))
		}
	}
}

// facts takes over the camera's words from the 0th IFD, the Exif IFD it points at,
// the maker note and the XMP packet.
func (x *extractor) facts(zeroth *directory) {
	exif := &directory{block: zeroth.block}
	if off, ok := zeroth.uint(tagExifIFD); ok {
		dir, lost, err := x.dirs.read(zeroth.block, int64(off))
		if err != nil {
			x.missing(err)
		}
		if lost > 0 {
			x.missing(brokenAt(dir.at, "values of the Exif directory lie beyond the end"))
		}
		exif = &dir
	}
	x.exif(exif, zeroth)
	if e, ok := exif.find(tagMakerNote); ok {
		x.makerNote(zeroth.block, e)
	} else if e, ok := zeroth.find(tagDNGPrivate); ok {
		x.movedMakerNote(zeroth.block, e)
	}
	if e, ok := zeroth.find(tagXMP); ok && zeroth.src == x.src {
		x.xmpAt(e.at, e.size)
	}
}

// Values of Compression and PhotometricInterpretation that only raw data has
// (TIFF/EP: CFA; DNG 1.4: linear raw; the makers': ExifTool's Exif table).
const (
	photometricCFA    = 32803
	photometricLinear = 34892
	compressedARW     = 32767
	compressedNEF     = 34713
	compressedPEF     = 65535
)

// rawKind tells the raw formats that share TIFF's magic number from a plain TIFF.
func rawKind(zeroth *directory, all []*directory) string {
	if _, ok := zeroth.find(tagDNGVersion); ok {
		return dngFile
	}
	raw := false
	for _, d := range all {
		photometric, _ := d.uint(tagPhotometric)
		compression, _ := d.uint(tagCompression)
		switch {
		case photometric == photometricCFA, photometric == photometricLinear,
			compression == compressedARW, compression == compressedNEF, compression == compressedPEF:
			raw = true
		}
	}
	if !raw {
		return tiffFile
	}
	switch maker := strings.ToUpper(zeroth.text(tagMake)); {
	case strings.HasPrefix(maker, "NIKON"):
		return nefFile
	case strings.HasPrefix(maker, "SONY"):
		return arwFile
	case strings.HasPrefix(maker, "PENTAX"), strings.HasPrefix(maker, "RICOH"), strings.HasPrefix(maker, "ASAHI"):
		return pefFile
	}
	return tiffFile
}

// sensorImage finds the size of the sensor image: the largest picture that is not
// a reduced one (bit 0 of NewSubfileType). In a CR2 the directories describe the
// previews, so the Exif block's PixelXDimension counts there.
func (x *extractor) sensorImage(zeroth *directory, all []*directory) {
	m := x.m
	bestW, bestH := 0, 0
	if m.Container != cr2File {
		for _, d := range all {
			w, _ := d.uint(tagImageWidth)
			h, _ := d.uint(tagImageLength)
			reduced, _ := d.uint(tagNewSubfileType)
			if reduced&1 == 0 && w <= maxSide && h <= maxSide && int(w)*int(h) > bestW*bestH {
				bestW, bestH = int(w), int(h)
			}
		}
	}
	if px, py := m.plane.pixelX, m.plane.pixelY; bestW == 0 && px > 0 && py > 0 && px <= maxSide && py <= maxSide {
		bestW, bestH = int(px), int(py)
	}
	if bestW > 0 && bestH > 0 {
		setIfNil(&m.Width, bestW)
		setIfNil(&m.Height, bestH)
	}
}

// maxSide bounds a believable picture's side in pixels.
const maxSide = 1 << 20

// rw2 reads what Panasonic's raw format keeps in tags of its own (ExifTool's
// PanasonicRaw table): the borders of the sensor image and a JPEG with a full
// EXIF block.
func (x *extractor) rw2(zeroth *directory) {
	const top, left, bottom, right, iso, embedded = 4, 5, 6, 7, 0x17, 0x2E
	t, ok1 := zeroth.uint(top)
	l, ok2 := zeroth.uint(left)
	b, ok3 := zeroth.uint(bottom)
	r, ok4 := zeroth.uint(right)
	if ok1 && ok2 && ok3 && ok4 && b > t && r > l {
		w, h := int(r-l), int(b-t)
		x.m.Width, x.m.Height = &w, &h
	}
	if e, ok := zeroth.find(embedded); ok {
		x.candidate(e.at, e.size)
		if err := x.jpegStream(e.at, e.at+e.size, func(int, int, bool) {}); err != nil {
			x.missing(err)
		}
	}
	if v, ok := zeroth.uint(iso); ok && v > 0 && v < 0xFFFF {
		setIfNil(&x.m.ISO, int(v))
	}
}
