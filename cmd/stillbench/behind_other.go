//go:build !linux

package main

import "context"

// stayBehind does nothing where a thread's share of the processor cannot be set from outside it.
func stayBehind(context.Context) {}
