package exifread

import (
	"cmp"
	"encoding/binary"
	"slices"
)

// heif reads an HEIF file (ISO/IEC 23008-12): the meta box says which items there
// are, where their bytes stand and which properties they have.
func (x *extractor) heif() error {
	var meta box
	err := boxes(x.src, 0, x.src.size, func(b box) {
		if b.kind == "meta" && meta.kind == "" {
			meta = b
		}
	})
	if meta.kind == "" {
		if err == nil {
			err = brokenAt(0, "the box with the list of items is missing")
		}
		return err
	}
	if err != nil {
		x.missing(err)
	}
	h := heifMeta{x: x, items: make(map[uint32]*heifItem)}
	h.read(meta)
	h.take()
	return nil
}

// heifItem is one item of the meta box.
type heifItem struct {
	id        uint32
	kind      string // item_type
	mime      string // content_type of kind "mime"
	inIDAT    bool   // construction method 1
	elsewhere bool   // construction method 2, or in another file
	extents   []extent
	props     []int // 1-based indices into the property list
}

// heifProperty is a property box that matters here.
type heifProperty struct {
	kind   string
	w, h   int // ispe
	turns  int // irot: quarter turns anticlockwise
	mirror int // imir: the axis
}

// heifMeta is a meta box being read.
type heifMeta struct {
	x       *extractor
	primary uint32
	items   map[uint32]*heifItem
	props   []heifProperty
	idat    box
}

// maxItems bounds the items; a picture of a phone has about 60 (a tile each).
const maxItems = 4096

func (h *heifMeta) item(id uint32) *heifItem {
	it := h.items[id]
	if it == nil {
		if len(h.items) >= maxItems {
			return &heifItem{id: id}
		}
		it = &heifItem{id: id}
		h.items[id] = it
	}
	return it
}

// read reads the boxes of meta, a full box: version and flags come first (ISO/IEC
// 14496-12 section 8.11.1).
func (h *heifMeta) read(meta box) {
	h.x.level(meta.body+4, meta.end, func(b box) {
		switch b.kind {
		case "pitm":
			h.primaryItem(b)
		case "iinf":
			h.itemInfo(b)
		case "iloc":
			h.locations(b)
		case "idat":
			h.idat = b
		case "iprp":
			h.x.level(b.body, b.end, func(b box) {
				switch b.kind {
				case "ipco":
					h.x.level(b.body, b.end, h.property)
				case "ipma":
					h.associations(b)
				}
			})
		}
	})
}

// cursor walks through a box; after the first step beyond its end ok is false and
// stays so.
type cursor struct {
	x      *extractor
	b      box
	at     int64
	broken bool
}

// full begins behind version and flags.
func (x *extractor) full(b box) (c *cursor, version, flags uint64) {
	c = &cursor{x: x, b: b}
	version, flags = c.uint(1), c.uint(3)
	return c, version, flags
}

func (c *cursor) uint(width int64) uint64 {
	if width == 0 || c.broken {
		return 0
	}
	v, ok := c.x.field(c.b, c.at, width)
	c.broken = !ok
	c.at += width
	return v
}

// text reads a string to its NUL.
func (c *cursor) text() string {
	const longest = 256
	var out []byte
	for len(out) < longest {
		ch := c.uint(1)
		if c.broken || ch == 0 {
			break
		}
		out = append(out, byte(ch))
	}
	return string(out)
}

// idWidth is the width of an item number: 16 bits before the given version.
func idWidth(version, wideFrom uint64) int64 {
	if version < wideFrom {
		return 2
	}
	return 4
}

// primaryItem: ISO/IEC 14496-12 section 8.11.4.
func (h *heifMeta) primaryItem(b box) {
	c, version, _ := h.x.full(b)
	h.primary = uint32(c.uint(idWidth(version, 1)))
}

// itemInfo: section 8.11.6, a count and then a box "infe" an item.
func (h *heifMeta) itemInfo(b box) {
	c, version, _ := h.x.full(b)
	c.uint(idWidth(version, 1))
	if c.broken {
		return
	}
	h.x.level(b.body+c.at, b.end, func(b box) {
		if b.kind != "infe" {
			return
		}
		c, version, _ := h.x.full(b)
		if version < 2 {
			return // has no item type
		}
		id := uint32(c.uint(idWidth(version, 3)))
		c.uint(2) // protection
		var kind [4]byte
		binary.BigEndian.PutUint32(kind[:], uint32(c.uint(4)))
		if c.broken {
			return
		}
		it := h.item(id)
		it.kind = string(kind[:])
		if it.kind == "mime" {
			c.text() // item_name
			it.mime = c.text()
		}
	})
}

// locations: section 8.11.3.
func (h *heifMeta) locations(b box) {
	c, version, _ := h.x.full(b)
	sizes := c.uint(2)
	offWidth, lenWidth := int64(sizes>>12&15), int64(sizes>>8&15)
	baseWidth, indexWidth := int64(sizes>>4&15), int64(sizes&15)
	if version == 0 {
		indexWidth = 0
	}
	for _, w := range []int64{offWidth, lenWidth, baseWidth, indexWidth} {
		if w != 0 && w != 4 && w != 8 {
			h.x.missing(brokenAt(b.off, "the list of item places has impossible field widths"))
			return
		}
	}
	count := c.uint(idWidth(version, 2))
	extents := 0
	for range min(count, maxItems) {
		id := uint32(c.uint(idWidth(version, 2)))
		method := uint64(0)
		if version > 0 {
			method = c.uint(2) & 15
		}
		other := c.uint(2) // data_reference_index
		base := c.uint(baseWidth)
		n := c.uint(2)
		if c.broken {
			return
		}
		it := h.item(id)
		it.inIDAT, it.elsewhere = method == 1, method > 1 || other != 0
		for range n {
			c.uint(indexWidth)
			off, length := c.uint(offWidth), c.uint(lenWidth)
			if extents++; c.broken || extents > 4*maxItems {
				return
			}
			if end := base + off; end >= base && end <= 1<<62 && length <= 1<<62 {
				it.extents = append(it.extents, extent{int64(base + off), int64(length)})
			}
		}
	}
}

// property: ISO/IEC 23008-12 sections 6.5.3 (ispe), 6.5.10 (irot), 6.5.12 (imir).
func (h *heifMeta) property(b box) {
	p := heifProperty{kind: b.kind}
	switch b.kind {
	case "ispe":
		c, _, _ := h.x.full(b)
		p.w, p.h = int(c.uint(4)), int(c.uint(4))
	case "irot":
		v, _ := h.x.field(b, 0, 1)
		p.turns = int(v & 3)
	case "imir":
		v, _ := h.x.field(b, 0, 1)
		p.mirror = int(v & 1)
	}
	h.props = append(h.props, p)
}

// associations: ISO/IEC 23008-12 section 9.3.1 (ipma).
func (h *heifMeta) associations(b box) {
	c, version, flags := h.x.full(b)
	width := int64(1)
	if flags&1 == 1 {
		width = 2
	}
	count := c.uint(4)
	total := 0
	for range min(count, maxItems) {
		it := h.item(uint32(c.uint(idWidth(version, 1))))
		for range c.uint(1) {
			v := c.uint(width)
			if total++; c.broken || total > 4*maxItems {
				return
			}
			it.props = append(it.props, int(v&(1<<(8*width-1)-1))) // the top bit: essential
		}
	}
}

// take hands on what the items say, EXIF before XMP.
func (h *heifMeta) take() {
	x := h.x
	if primary := h.items[h.primary]; primary != nil {
		h.geometry(primary)
	}
	items := h.inOrder()
	for _, it := range items {
		switch {
		case it.kind == "Exif":
			h.exif(it)
		case it.kind == "jpeg" && len(it.extents) == 1 && !it.inIDAT && !it.elsewhere:
			x.candidate(it.extents[0].off, it.extents[0].length)
		}
	}
	for _, it := range items {
		if it.kind == "mime" && it.mime == "application/rdf+xml" {
			h.xmp(it)
		}
	}
}

// xmp reads an item with an XMP packet (ISO/IEC 23008-12 annex A.3).
func (h *heifMeta) xmp(it *heifItem) {
	src, e, ok := h.data(it)
	switch {
	case !ok:
	case src == h.x.src:
		h.x.xmpAt(e.off, e.length)
	default:
		if raw, err := src.bytes(e.off, int(e.length)); err == nil {
			h.x.xmp(raw)
		}
	}
}

// inOrder lists the items by number, so that a file always reads the same.
func (h *heifMeta) inOrder() []*heifItem {
	out := make([]*heifItem, 0, len(h.items))
	for _, it := range h.items {
		out = append(out, it)
	}
	slices.SortFunc(out, func(a, b *heifItem) int { return cmp.Compare(a.id, b.id) })
	return out
}

// geometry takes size and orientation from the properties of the primary item.
// Width and height stand before rotation. Rotation and mirroring are applied in
// the order in which they are associated; they alone count for display (23008-12
// section 6.5.10), and EXIF's orientation is used only where there is neither.
func (h *heifMeta) geometry(it *heifItem) {
	m := h.x.m
	turn := upright
	transformed := false
	for _, i := range it.props {
		if i < 1 || i > len(h.props) {
			continue
		}
		switch p := h.props[i-1]; p.kind {
		case "ispe":
			if p.w > 0 && p.h > 0 && p.w <= maxSide && p.h <= maxSide {
				setIfNil(&m.Width, p.w)
				setIfNil(&m.Height, p.h)
			}
		case "irot":
			transformed = true
			for range p.turns {
				turn = turn.then(anticlockwise)
			}
		case "imir":
			transformed = true
			if p.mirror == 0 {
				turn = turn.then(topBottom)
			} else {
				turn = turn.then(leftRight)
			}
		}
	}
	if transformed {
		o := turn.orientation()
		m.Orientation = &o
	}
}

// placement is a symmetry of the square as the matrix that takes a place in the
// stored picture (x right, y down, from its centre) to its place on show.
type placement [4]int

var (
	upright       = placement{1, 0, 0, 1}
	anticlockwise = placement{0, 1, -1, 0}
	topBottom     = placement{1, 0, 0, -1}
	leftRight     = placement{-1, 0, 0, 1}
)

// then is p followed by q.
func (p placement) then(q placement) placement {
	return placement{
		q[0]*p[0] + q[1]*p[2], q[0]*p[1] + q[1]*p[3],
		q[2]*p[0] + q[3]*p[2], q[2]*p[1] + q[3]*p[3],
	}
}

// orientation gives EXIF's number for p: where row 0 and column 0 of the stored
// picture come to lie (DC-008 section 4.6.4 Orientation).
func (p placement) orientation() int {
	return map[placement]int{
		{1, 0, 0, 1}:   1, // top, left
		{-1, 0, 0, 1}:  2, // top, right
		{-1, 0, 0, -1}: 3, // bottom, right
		{1, 0, 0, -1}:  4, // bottom, left
		{0, 1, 1, 0}:   5, // left, top
		{0, -1, 1, 0}:  6, // right, top
		{0, -1, -1, 0}: 7, // right, bottom
		{0, 1, -1, 0}:  8, // left, bottom
	}[p]
}

// exif reads the Exif item: the offset of the TIFF header behind this field, then
// the block (ISO/IEC 23008-12 annex A.2.1).
func (h *heifMeta) exif(it *heifItem) {
	src, e, ok := h.data(it)
	if !ok {
		return
	}
	raw, err := src.bytes(e.off, 4)
	if err != nil || e.length < 4 {
		h.x.missing(brokenAt(e.off, "the EXIF item is cut off"))
		return
	}
	skip := int64(binary.BigEndian.Uint32(raw))
	if skip > e.length-4 {
		h.x.missing(brokenAt(e.off, "the EXIF item is shorter than its head says"))
		return
	}
	h.x.tiffBlock(src, e.off+4+skip, e.off+e.length)
}

// data gives the bytes of an item: a stretch of the file, or of memory when it
// comes in several pieces.
func (h *heifMeta) data(it *heifItem) (src *source, where extent, ok bool) {
	if it.elsewhere || len(it.extents) == 0 {
		return nil, extent{}, false
	}
	place := func(e extent) extent {
		if it.inIDAT {
			e.off += h.idat.body
		}
		if e.length == 0 { // to the end (14496-12 section 8.11.3)
			e.length = h.x.src.size - e.off
		}
		return e
	}
	if len(it.extents) == 1 {
		return h.x.src, place(it.extents[0]), true
	}
	parts := make([]extent, len(it.extents))
	for i, e := range it.extents {
		parts[i] = place(e)
	}
	whole, err := h.x.src.gather(parts, maxValue)
	if err != nil {
		h.x.missing(err)
		return nil, extent{}, false
	}
	return h.x.memory(whole), extent{0, int64(len(whole))}, true
}
