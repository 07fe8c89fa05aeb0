package placetest

import (
	"context"
	"fmt"

	"stillbench/session"
)

// PrintSetup gives the path that a page would have.
func (d *Desk) PrintSetup(_ context.Context, s session.FoundSetup) (string, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.Printed = append(d.Printed, s.ID)
	return fmt.Sprintf("/home/someone/Setup %d.pdf", s.ID), d.Refuse
}
