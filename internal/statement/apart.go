package statement

// EachNM stands for the wavelength in a statement that is said of several together.
const EachNM NM = -1

// Apart returns a statement with [EachNM] in the place of its wavelength, and that
// wavelength: statements that differ in it alone are the same then. Of one that names
// none, or several, it is the statement itself, and 0.
func Apart(s Statement) (Statement, NM) {
	var nm NM
	one := true
	see := func(v NM) NM {
		one = one && (nm == 0 || nm == v)
		nm = v
		return EachNM
	}
	var placed func(Statement) Statement
	placed = func(s Statement) Statement {
		out := Statement{Code: s.Code, Args: make([]Argument, len(s.Args))}
		for i, a := range s.Args {
			switch a := a.(type) {
			case NM:
				out.Args[i] = see(a)
			case Statement:
				out.Args[i] = placed(a)
			case List:
				list := make(List, len(a))
				for k, each := range a {
					list[k] = each
					switch each := any(each).(type) {
					case NM:
						list[k] = see(each)
					case Statement:
						list[k] = placed(each)
					}
				}
				out.Args[i] = list
			default:
				out.Args[i] = a
			}
		}
		return out
	}
	if apart := placed(s); one && nm != 0 {
		return apart, nm
	}
	return s, 0
}
