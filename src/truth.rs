//! True, false, unknown, and how they combine (Kleene's strong logic of three values).

/// What can be said of a condition, given what the record allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Truth {
    /// So in every world that the record allows.
    True,
    /// So in none of them.
    False,
    /// So in some, or not decided.
    Unknown,
}

impl Truth {
    /// Both.
    pub fn and(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::False, _) | (_, Truth::False) => Truth::False,
            (Truth::True, Truth::True) => Truth::True,
            (Truth::Unknown, Truth::True | Truth::Unknown) | (Truth::True, Truth::Unknown) => {
                Truth::Unknown
            }
        }
    }

    /// At least one.
    pub fn or(self, other: Truth) -> Truth {
        self.negated().and(other.negated()).negated()
    }

    /// The opposite; unknown stays unknown.
    pub fn negated(self) -> Truth {
        match self {
            Truth::True => Truth::False,
            Truth::False => Truth::True,
            Truth::Unknown => Truth::Unknown,
        }
    }

    /// Whether it is decided.
    pub fn is_definite(self) -> bool {
        self != Truth::Unknown
    }
}

impl From<bool> for Truth {
    fn from(value: bool) -> Self {
        if value { Truth::True } else { Truth::False }
    }
}
