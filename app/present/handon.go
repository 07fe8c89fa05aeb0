package present

import (
	"fmt"
	"path"
	"path/filepath"
	"slices"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/handoff"
)

// HandOnAsked is what the photographer has chosen for handing the stacks on.
type HandOnAsked struct {
	Out      string `json:"-"`
	As       handoff.How
	Pattern  string
	Others   bool
	Sidecars bool
	Reject   bool   // those set aside are rated -1 in their sidecars
	Paper    string // of the contact sheet; "" for none
	Tables   bool
}

// NewHandOn is what is offered first: copies, with all that is known of them.
func NewHandOn() HandOnAsked {
	return HandOnAsked{As: handoff.Copy, Sidecars: true, Paper: handoff.Papers[0], Tables: true}
}

// Options are the same for the handoff.
func (a HandOnAsked) Options() handoff.Options {
	return handoff.Options{
		As: a.As, CopyInstead: true, Pattern: a.Pattern, Others: a.Others, Sidecars: a.Sidecars, Reject: a.Reject,
		Sheet: a.Paper != "", Paper: a.Paper, Tables: a.Tables, Words: Said,
	}
}

// OtherWay takes the next way for files to come into their folders.
func (a *HandOnAsked) OtherWay() {
	a.As = handoff.Hows[(slices.Index(handoff.Hows, a.As)+1)%len(handoff.Hows)]
}

// OtherSidecars goes from none to sidecars to those that also rate what is set aside.
func (a *HandOnAsked) OtherSidecars() {
	switch {
	case !a.Sidecars:
		a.Sidecars = true
	case !a.Reject:
		a.Reject = true
	default:
		a.Sidecars, a.Reject = false, false
	}
}

// OtherSheet goes through the papers of the contact sheet, and none.
func (a *HandOnAsked) OtherSheet() {
	papers := append(slices.Clone(handoff.Papers), "")
	a.Paper = papers[(slices.Index(papers, a.Paper)+1)%len(papers)]
}

// HandOnFolder is where stacks are offered to go: a folder beside that of the session.
func HandOnFolder(s *desk.Snapshot) string {
	dir := s.Session.Dir
	return filepath.Join(filepath.Dir(dir), fmt.Sprintf(words.HandFolderF, filepath.Base(dir)))
}

// HandOnSheet is what the sheet says on which the stacks are handed on: the sentence, the folders
// as they will be called, and what was chosen. plan is nil while it is worked out, or with err.
func HandOnSheet(a HandOnAsked, plan *handoff.Plan, err error) (said Sentence, folders, chosen []NamedLine) {
	todo := words.HandTodoStay
	if a.As == handoff.Move {
		todo = words.HandTodoMove
	}
	said = Sentence{Mark: MarkHold, Headline: words.HandHead, WhatToDo: fmt.Sprintf(words.HandTodoF, todo)}
	say := func(name, text string) { chosen = append(chosen, NamedLine{name, text}) }
	switch {
	case err != nil:
		said.Headline, said.WhatToDo = words.HandWrong, Capital(plain(err))+"."
	case plan == nil:
		say(words.HandStacks, words.HandLooking)
	case len(plan.Stacks) == 0:
		said.Headline, said.WhatToDo = words.HandNone, words.HandNoneTodo
	case !plan.Fits():
		said.Headline, said.WhatToDo = words.HandNoRoom, fmt.Sprintf(words.HandNoRoomF, size(plan.Bytes), size(plan.Free))
	}
	if plan != nil {
		folders = handOnFolders(plan)
		say(words.HandStacks, handOnAmount(plan))
	}
	if a.Others {
		say("", words.HandOthersToo)
	}
	say(words.HandAs, words.HandWays[string(a.As)])
	pattern := a.Pattern
	if pattern == "" {
		pattern = handoff.DefaultPattern
	}
	say(words.HandPattern, pattern)
	sidecars, tables, sheet := words.HandNo, words.HandNo, words.HandNo
	if a.Sidecars {
		sidecars = words.HandXMP
		if a.Reject {
			sidecars = words.HandXMPReject
		}
	}
	if a.Paper != "" {
		sheet = fmt.Sprintf(words.HandSheetF, a.Paper)
	}
	if a.Tables {
		tables = words.HandTablesYes
	}
	say(words.HandSidecars, sidecars)
	say(words.HandSheet, sheet)
	say(words.HandTables, tables)
	say(words.HandGoesTo, a.Out)
	if plan != nil && plan.Free >= 0 {
		say(words.HandRoom, fmt.Sprintf(words.HandRoomF, size(plan.Bytes), size(plan.Free)))
	}
	if plan != nil {
		for i, p := range plan.Problems {
			name := ""
			if i == 0 {
				name = words.HandLeftOut
			}
			say(name, Said(p.Sentence))
		}
	}
	return said, folders, chosen
}

func handOnAmount(plan *handoff.Plan) string {
	stacks, files := 0, 0
	bytes := int64(0)
	for _, k := range plan.Stacks {
		if k.Kind == string(session.KindStack) {
			stacks++
		}
		files += len(k.Files)
		for _, f := range k.Files {
			bytes += f.Bytes
		}
	}
	text := fmt.Sprintf(words.HandStacksF, Count(stacks, words.HandStackOne, words.HandStackMany), Count(files, words.HandFileOne, words.HandFileMany), size(bytes))
	switch {
	case plan.New == 0 && files > 0:
		text += "; " + words.HandNewNone
	case plan.New < files:
		text += "; " + fmt.Sprintf(words.HandNewF, plan.New)
	}
	return text
}

// handOnFolders lists the folders that will be made, or were.
func handOnFolders(plan *handoff.Plan) (out []NamedLine) {
	for _, k := range plan.Stacks {
		aside := 0
		for _, f := range k.Files {
			if f.SetAside {
				aside++
			}
		}
		text := Count(len(k.Files), words.HandFileOne, words.HandFileMany)
		if aside > 0 {
			text = fmt.Sprintf(words.HandAsideF, text, aside)
		}
		if k.New() == 0 {
			text += ", " + words.HandThere
		}
		out = append(out, NamedLine{k.Folder, text})
	}
	return out
}

// HandOnAtWork says how far the handoff is, or the putting back of what was moved.
func HandOnAtWork(back bool, done, total int) Sentence {
	s := Sentence{Mark: MarkHold, Headline: words.HandBusyHead, WhatToDo: fmt.Sprintf(words.HandBusyTodoF, 100*done/max(total, 1))}
	if back {
		s.Headline = words.HandBackHead
	}
	return s
}

// HandOnEnded says what came of it: the sentence, and a line for each thing made or left out.
func HandOnEnded(back bool, r handoff.Result, err error) (said Sentence, lines []NamedLine) {
	said = Sentence{Mark: MarkPlan, Headline: words.HandDoneHead, WhatToDo: HandOnTold(r, err)}
	switch {
	case back:
		said.Headline = words.HandBackDone
	case err != nil && len(r.Stacks) == 0:
		said.Headline = words.HandHaltHead
	case err != nil || len(r.Problems) > 0:
		said.Headline = words.HandPartHead
	}
	for _, p := range r.Problems {
		lines = append(lines, NamedLine{p.File, Said(p.Sentence)})
	}
	for _, k := range r.Stacks {
		lines = append(lines, NamedLine{k.Folder, Count(len(k.Files), words.HandFileOne, words.HandFileMany)})
	}
	if r.Sheet != "" {
		lines = append(lines, NamedLine{words.HandSheet, r.Sheet})
	}
	if len(r.Tables) > 0 {
		files := Count(len(r.Tables), words.HandFileOne, words.HandFileMany)
		lines = append(lines, NamedLine{words.HandTables, fmt.Sprintf(words.HandTablesF, files, path.Dir(r.Tables[0]))})
	}
	return said, lines
}

// HandOnMayBegin tells whether there is anything to do and room for it.
func HandOnMayBegin(plan *handoff.Plan) bool {
	return plan != nil && len(plan.Stacks) > 0 && plan.Fits()
}

// HandOnTold is the sentence on what came of it, also where the sheet was left.
func HandOnTold(r handoff.Result, err error) string {
	if r.Sentence.Form == "" && err != nil {
		return Capital(plain(err)) + "."
	}
	return Said(r.Sentence)
}

// HandOnWord is the handoff at work in a word or two.
func HandOnWord(done, total int) string {
	return fmt.Sprintf(words.HandingOnF, 100*done/max(total, 1))
}

// HandOnBackWord is the key that puts files back.
func HandOnBackWord(files int) string { return fmt.Sprintf(words.HandBackKeyF, files) }

// HandOnQuit asks before a handoff is stopped.
func HandOnQuit() Sentence {
	return Sentence{Mark: MarkHold, Headline: fmt.Sprintf(words.QuitHeadF, words.HandQuitWhat), WhatToDo: words.HandQuitTodo}
}
