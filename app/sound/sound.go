// Package sound plays the two short tones by which the table can be followed without looking.
// Where there is no sound device it stays silent.
package sound

import (
	"bytes"
	"encoding/binary"
	"math"
	"sync"
	"time"

	"github.com/ebitengine/oto/v3"
)

// Tone is one of the two tones.
type Tone uint8

// The tones. Rising and falling are told apart at any loudness, and by ears that hear no high
// pitch any more.
const (
	ShootAgain Tone = iota // two notes that fall
	FreeToMove             // two notes that rise
)

// notes are the frequencies of a tone's notes in hertz: a fifth apart, A4 and E5 in equal
// temperament (ISO 16 has A4 at 440 Hz).
var notes = map[Tone][]float64{
	ShootAgain: {659.26, 440},
	FreeToMove: {440, 659.26},
}

const (
	rate   = 48000                  // samples per second
	length = 140 * time.Millisecond // of a note
	fade   = 15 * time.Millisecond  // at both its ends, so that it does not click
	peak   = 0.25                   // of full scale: -12 dB
)

// samples is a tone at rate, mono, from -peak to peak.
func samples(t Tone) []float32 {
	n, edge := int(length.Seconds()*rate), fade.Seconds()*rate
	var out []float32
	for _, hz := range notes[t] {
		for i := range n {
			end := math.Min(float64(i), float64(n-1-i))
			loud := 1.0
			if end < edge {
				loud = 0.5 - 0.5*math.Cos(math.Pi*end/edge)
			}
			out = append(out, float32(peak*loud*math.Sin(2*math.Pi*hz*float64(i)/rate)))
		}
	}
	return out
}

// Player plays tones one after the other. The zero value is ready.
type Player struct {
	mu     sync.Mutex // held while a tone sounds
	device *oto.Context
	opened bool
}

// Play plays a tone and returns when it has sounded, or at once where no device can be opened.
func (p *Player) Play(t Tone) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if !p.opened {
		p.opened = true
		if c, ready, err := oto.NewContext(&oto.NewContextOptions{SampleRate: rate, ChannelCount: 1, Format: oto.FormatFloat32LE}); err == nil {
			<-ready
			p.device = c
		}
	}
	if p.device == nil || p.device.Err() != nil {
		return
	}
	var b bytes.Buffer
	binary.Write(&b, binary.LittleEndian, samples(t)) // a bytes.Buffer takes everything
	sounding := p.device.NewPlayer(&b)
	sounding.Play()
	// A device that was pulled out must not hold the next tone up for ever.
	for end := time.Now().Add(2 * time.Second); sounding.IsPlaying() && time.Now().Before(end); {
		time.Sleep(10 * time.Millisecond)
	}
}
