// Package parts holds the drawings that the places share: the sentence, the ribbon,
// the light plan, the wheel, seams, pictures, keys. Each is a Fyne widget that shows
// plain data: a place fills in the data and calls Refresh, and what the photographer
// does comes back through callbacks.
//
// A part draws and measures its own drawing. It refuses to judge, to compute
// photography, to read files or pictures' bytes, to scale pictures, and to start
// goroutines. All of it runs on the UI goroutine.
//
// Inside, every distance is in px at scale 1 (see package look); the pen multiplies.
package parts
