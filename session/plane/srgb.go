package plane

import "math"

// The sRGB transfer functions of IEC 61966-2-1:1999, section 5.2.

// Linearize undoes the sRGB encoding of a value in 0..1.
func Linearize(encoded float64) float64 {
	if encoded <= 0.04045 {
		return encoded / 12.92
	}
	return math.Pow((encoded+0.055)/1.055, 2.4)
}

// Encode gives linear light in 0..1 its sRGB encoding.
func Encode(light float64) float64 {
	if light <= 0.0031308 {
		return light * 12.92
	}
	return 1.055*math.Pow(light, 1/2.4) - 0.055
}

// encodeSteps is fine enough that a step of the table is at most 0.05 of an 8-bit code
// value, where the curve is steepest (12.92 x 255 / 65535).
const encodeSteps = 65535

var (
	linear  [256]float32 // code value to light
	encoded [256]float32 // code value / 255
	code    [encodeSteps + 1]uint8
)

func init() {
	for i := range linear {
		encoded[i] = float32(i) / 255
		linear[i] = float32(Linearize(float64(i) / 255))
	}
	// The code value changes where the light passes the middle between two codes.
	c := 0
	for i := range code {
		for c < 255 && float64(i)/encodeSteps >= Linearize((float64(c)+0.5)/255) {
			c++
		}
		code[i] = uint8(c)
	}
}

// Linear8 is the light, 0..1, of an sRGB code value.
func Linear8(v uint8) float32 { return linear[v] }

// Encode8 is the sRGB code value of linear light, to the nearest within 0.05 of a code.
// Light outside 0..1 is clipped; NaN gives 0.
func Encode8(light float32) uint8 {
	if !(light > 0) {
		return 0
	}
	if light >= 1 {
		return 255
	}
	return code[int(light*encodeSteps+0.5)]
}
