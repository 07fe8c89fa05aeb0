// Package assets holds what the program carries inside itself: the typeface and the
// icon. It refuses to hold anything that thinks.
//
// The typeface is B612 Regular and Bold, taken from Debian's package fonts-b612
// under the SIL Open Font License 1.1; its text lies beside the files in
// fonts/LICENCE.txt. The icon is our own drawing, icons/stillbench.svg; the PNG
// sizes beside it are made from it by `go run ./assets/icons`.
package assets

import _ "embed"

// The typeface, as OpenType files.
var (
	//go:embed fonts/B612-Regular.otf
	FontRegular []byte
	//go:embed fonts/B612-Bold.otf
	FontBold []byte
	// FontLicence is the text that must go wherever the two files go.
	//go:embed fonts/LICENCE.txt
	FontLicence string
)

// Icon is the program's icon, 256 x 256, as PNG; IconSVG is the drawing it is made of.
var (
	//go:embed icons/stillbench-256.png
	Icon []byte
	//go:embed icons/stillbench.svg
	IconSVG []byte
)
