//! A lowered rule: typed operations on the cells of a job and the slots of a book.
//!
//! Every name, type and dimension has been checked when these are made, so running them asks no such question again.

use crate::model::{FieldId, KindId};
use crate::quantity::Dimension;
use crate::source::Span;

use super::native::NativeId;
use super::types::Ty;

/// An expression. The first four need no look behind a pointer.
#[derive(Clone, Debug)]
pub(super) enum Expr {
    /// A field of the item that the rule looks at.
    Field(FieldId),
    /// A literal or an entry of the book.
    Slot(u16),
    /// A `let` or the item of a quantifier.
    Local(u8),
    /// A field through one link of the item.
    Linked(FieldId, FieldId),
    /// A field through links.
    Path(Box<Path>),
    /// The item itself, or the site.
    Item(Root),
    /// Arithmetic on two quantities.
    Arithmetic(Box<Arithmetic>),
    /// The opposite amount.
    Negative(Box<Marked>),
    /// The least, or the greatest, of two or more quantities.
    Extreme(Box<Extreme>),
    /// A comparison.
    Compare(Box<Compare>),
    /// All of two or more.
    And(Box<[Expr]>),
    /// Any of two or more.
    Or(Box<[Expr]>),
    /// The opposite.
    Not(Box<Expr>),
    /// Whether a value is in a list.
    Within(Box<Within>),
    /// A row of a table of the book.
    Row(Box<RowOf>),
    /// A look at every member of a list.
    Quantifier(Box<Quantifier>),
    /// A function that the program around the engine has added.
    Native(Box<NativeCall>),
    /// A field with the value that a rule presumes where nobody has recorded it.
    Presumed(Box<Presumed>),
    /// One of two values, by a condition.
    Choose(Box<Choose>),
    /// An expression in which a local value has been set: a shared condition about some item.
    Bind(Box<Bind>),
}

/// A field with the value that stands in for it where it is not recorded.
#[derive(Clone, Debug)]
pub(super) struct Presumed {
    /// The field. What leads to it is never presumed.
    pub(super) of: Path,
    /// What is presumed.
    pub(super) value: Stand,
    /// Which presumption of the rule this is.
    pub(super) number: u8,
}

/// What stands in for a field that is not recorded.
#[derive(Clone, Debug)]
pub(super) enum Stand {
    /// A literal or an entry of the book.
    Slot(u16),
    /// Another field, reached through links from the item whose field is not recorded, and what is presumed of that one in turn.
    Field(Box<[FieldId]>, FieldId, Option<Box<(u8, Stand)>>),
}

/// One of two values, by a condition.
#[derive(Clone, Debug)]
pub(super) struct Choose {
    /// The condition.
    pub(super) condition: Expr,
    /// The value where it holds.
    pub(super) then: Expr,
    /// The value where it does not.
    pub(super) otherwise: Expr,
}

/// An expression in which a local value has been set.
#[derive(Clone, Debug)]
pub(super) struct Bind {
    /// Where the value is kept.
    pub(super) local: u8,
    /// The value.
    pub(super) value: Expr,
    /// The expression.
    pub(super) body: Expr,
}

/// Where a path starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Root {
    /// The item that the rule looks at.
    Item,
    /// The site.
    Site,
    /// An item that a `let` or a quantifier names.
    Local(u8),
}

/// A field reached from a root through zero or more links.
#[derive(Clone, Debug)]
pub(super) struct Path {
    /// Where it starts.
    pub(super) root: Root,
    /// Fields that refer to the next item.
    pub(super) links: Box<[FieldId]>,
    /// The field at the end.
    pub(super) field: FieldId,
    /// An unrecorded list of this sort is empty: nothing refers to the item.
    pub(super) empty_if_missing: bool,
}

/// An expression and where it stands.
#[derive(Clone, Debug)]
pub(super) struct Marked {
    /// The expression.
    pub(super) of: Expr,
    /// The place of the whole.
    pub(super) span: Span,
}

/// How two quantities are put together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `*`
    Times,
    /// `/`
    Over,
    /// `distance(a, b)`: the difference without its sign.
    Apart,
}

/// Arithmetic on two quantities.
#[derive(Clone, Debug)]
pub(super) struct Arithmetic {
    /// How.
    pub(super) sign: Sign,
    /// Left operand.
    pub(super) left: Expr,
    /// Right operand.
    pub(super) right: Expr,
    /// Dimensions of the operands.
    pub(super) dimensions: (Dimension, Dimension),
    /// A shorter way to the same result, if there is one.
    pub(super) short: Short,
    /// The place of the whole.
    pub(super) span: Span,
}

/// A shorter way to the result of some arithmetic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Short {
    /// None.
    No,
    /// The amounts are added as they are.
    Add,
    /// The amounts are subtracted as they are.
    Subtract,
    /// The left amount by a fraction that a literal gives, in lowest terms.
    ScaleLeft {
        /// Its numerator.
        by: i64,
        /// Its denominator, greater than zero.
        over: i64,
    },
    /// The right amount by such a fraction.
    ScaleRight {
        /// Its numerator.
        by: i64,
        /// Its denominator, greater than zero.
        over: i64,
    },
    /// The left amount by the factor in this slot, an entry of the book.
    ByEntry(u16),
    /// The right amount by such a factor.
    EntryBy(u16),
}

/// The least or the greatest of several quantities of one dimension.
#[derive(Clone, Debug)]
pub(super) struct Extreme {
    /// The greatest instead of the least.
    pub(super) greatest: bool,
    /// The quantities.
    pub(super) of: Box<[Expr]>,
}

/// How two values are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Relation {
    /// `==`
    Equal,
    /// `!=`
    Unequal,
    /// `<`
    Less,
    /// `<=`
    LessOrEqual,
    /// `>`
    Greater,
    /// `>=`
    GreaterOrEqual,
}

impl Relation {
    /// Returns whether it holds between two amounts, symbols, flags or items of one type.
    #[inline(always)]
    pub(super) fn holds(self, left: i64, right: i64) -> bool {
        match self {
            Relation::Equal => left == right,
            Relation::Unequal => left != right,
            Relation::Less => left < right,
            Relation::LessOrEqual => left <= right,
            Relation::Greater => left > right,
            Relation::GreaterOrEqual => left >= right,
        }
    }
}

/// A comparison of two values of one type.
#[derive(Clone, Debug)]
pub(super) struct Compare {
    /// How.
    pub(super) relation: Relation,
    /// Left operand.
    pub(super) left: Expr,
    /// Right operand.
    pub(super) right: Expr,
}

/// A list.
#[derive(Clone, Debug)]
pub(super) enum List {
    /// A list of the book, by its number among the rule's lists.
    Entry(u16),
    /// A list field, or a `let` that holds one.
    Value(Expr),
}

/// Whether a value is in a list.
#[derive(Clone, Debug)]
pub(super) struct Within {
    /// The list.
    pub(super) list: List,
    /// The value.
    pub(super) value: Expr,
}

/// A row of a table of the book.
#[derive(Clone, Debug)]
pub(super) struct RowOf {
    /// The table, by its number among the rule's tables.
    pub(super) table: u16,
    /// The row's key.
    pub(super) key: Expr,
    /// Type of the key.
    pub(super) key_type: Ty,
    /// The place of the whole.
    pub(super) span: Span,
}

/// What a quantifier makes of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Quantify {
    /// Whether the condition holds of any member.
    Any,
    /// Whether it holds of every member.
    Every,
    /// How many members there are of which it holds.
    Count,
    /// The sum of an expression over those members.
    Sum,
    /// Its least value; where there is no member, what the rule says.
    Least,
    /// Its greatest value; where there is no member, what the rule says.
    Most,
    /// How many different values it has.
    Distinct,
}

/// What a quantifier gives where it has no member to go by.
#[derive(Clone, Debug)]
pub(super) enum Otherwise {
    /// The check that asks for it fails.
    Fail,
    /// The check that asks for it is met.
    Met,
    /// A value.
    Value(Expr),
}

/// A look at every member of a list.
#[derive(Clone, Debug)]
pub(super) struct Quantifier {
    /// What is made of it.
    pub(super) what: Quantify,
    /// The list.
    pub(super) list: List,
    /// Where the member stands while it is looked at.
    pub(super) local: u8,
    /// What must hold of a member.
    pub(super) condition: Option<Expr>,
    /// What is added up or compared.
    pub(super) of: Option<Expr>,
    /// What it gives where there is no member.
    pub(super) otherwise: Option<Otherwise>,
    /// The link that puts a member into the list: items that do not record it may belong there too.
    pub(super) placed_by: Option<(KindId, FieldId)>,
    /// The place of the whole.
    pub(super) span: Span,
}

/// A call of a native function.
#[derive(Clone, Debug)]
pub(super) struct NativeCall {
    /// The function.
    pub(super) function: NativeId,
    /// Its arguments.
    pub(super) arguments: Box<[Expr]>,
    /// The place of the call.
    pub(super) span: Span,
}

/// A statement.
#[derive(Clone, Debug)]
pub(super) enum Statement {
    /// `let`
    Let {
        /// Where the value is kept.
        local: u8,
        /// The value.
        value: Expr,
        /// The check to which a fault is put down: the next one of the rule.
        next: u8,
    },
    /// `if … { … } else { … }`
    If {
        /// The condition.
        condition: Expr,
        /// What is done when it holds.
        then: Box<[Statement]>,
        /// What is done when it does not.
        otherwise: Box<[Statement]>,
        /// The check to which a fault is put down.
        next: u8,
    },
    /// `keep` with a verb that compares
    Keep(Keep),
    /// `keep … one_of …`
    OneOf {
        /// Number of the check.
        check: u8,
        /// The value and the list.
        within: Within,
    },
    /// `need`
    Need {
        /// Number of the check.
        check: u8,
        /// What must hold.
        condition: Expr,
    },
    /// `look`
    Look {
        /// Number of the check.
        check: u8,
    },
    /// `applies where …`
    Applies {
        /// What must hold of an item that the rule concerns.
        condition: Expr,
        /// The check to which a fault is put down.
        next: u8,
        /// The exception that an item comes under which is out of scope only by what the rule presumes.
        presumed: Option<u8>,
    },
    /// `except "…" where …`
    Except {
        /// Its number among the checks.
        check: u8,
        /// Whether it is in force, by the day and by what the place says.
        in_force: u16,
        /// What must hold of an item that it lets go.
        condition: Expr,
    },
}

/// A `keep` with a verb that compares.
#[derive(Clone, Debug)]
pub(super) struct Keep {
    /// Number of the check.
    pub(super) check: u8,
    /// The verb.
    pub(super) bound: Bound,
    /// What is found.
    pub(super) found: Expr,
    /// What it is held against; the lower bound of `between`.
    pub(super) limit: Expr,
    /// The upper bound of `between`.
    pub(super) upper: Option<Expr>,
}

/// How a `keep` compares.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    /// Not more.
    AtMost,
    /// Not less.
    AtLeast,
    /// Neither less than the one nor more than the other.
    Between,
    /// The same amount.
    EqualAmount,
    /// The same word, flag or item: there is no margin.
    Same,
}

/// What stands in a slot.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    /// Where the value comes from.
    pub(super) source: SlotSource,
    /// Its type.
    pub(super) ty: Ty,
    /// Where the rule names it.
    pub(super) span: Span,
}

/// Where a slot's value comes from.
#[derive(Clone, Debug)]
pub(super) enum SlotSource {
    /// A literal of the rule.
    Literal(i64),
    /// A text of the rule, and its number in the table of texts that the rule was compiled with.
    Text(std::sync::Arc<str>, crate::model::Symbol),
    /// An entry of the book.
    Entry(crate::book::EntryId),
    /// Whether an exception of the rule is in force.
    Exception(std::sync::Arc<ExceptionTerms>),
}

/// What decides whether an exception is in force.
#[derive(Clone, Debug)]
pub(super) struct ExceptionTerms {
    /// Id of the rule.
    pub(super) rule: String,
    /// Name of the exception.
    pub(super) name: String,
    /// Its section.
    pub(super) section: String,
    /// First day.
    pub(super) from: Option<jiff::civil::Date>,
    /// Last day.
    pub(super) until: Option<jiff::civil::Date>,
}

/// What a rule takes for granted unless a job says otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Presumption {
    /// The kind whose field it is.
    pub kind: KindId,
    /// The field.
    pub field: FieldId,
    /// What is presumed, as the rule writes it.
    pub value: String,
    /// Why: a source, or `common practice, no source`.
    pub because: String,
    /// The place of the statement.
    pub span: Span,
}

/// A list or table of the book that a rule uses.
#[derive(Clone, Debug)]
pub(super) struct Use {
    /// The entry.
    pub(super) entry: crate::book::EntryId,
    /// Its key, for messages.
    pub(super) key: String,
    /// Type of a list's members or a table's keys.
    pub(super) key_type: Ty,
    /// Type of a table's values.
    pub(super) value_type: Ty,
    /// Where the rule names it.
    pub(super) span: Span,
}

/// A lowered rule.
#[derive(Clone, Debug, Default)]
pub(super) struct Plan {
    /// What is done.
    pub(super) body: Box<[Statement]>,
    /// Literals and single entries.
    pub(super) slots: Vec<Slot>,
    /// Lists of the book.
    pub(super) lists: Vec<Use>,
    /// Tables of the book.
    pub(super) tables: Vec<Use>,
    /// How many values `let` and quantifiers keep.
    pub(super) locals: usize,
    /// Their names and types, in the order of their numbers.
    pub(super) names: Vec<(std::sync::Arc<str>, Ty)>,
    /// Fields that are read, in order.
    pub(super) fields: Vec<(KindId, FieldId)>,
    /// What the rule says, statement by statement.
    pub(super) outline: Vec<super::check::Outline>,
    /// What the rule has to do with existing work.
    pub(super) existing: super::check::ExistingWork,
    /// What is taken for granted.
    pub(super) presumptions: Vec<Presumption>,
    /// What stands in for each of those fields, with its type.
    pub(super) stands: Vec<(Stand, Ty)>,
}
