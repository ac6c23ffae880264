//! Functions that the program around the engine adds to the rule language.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use super::syntax;
use crate::book::Book;
use crate::facts::Facts;
use crate::model::{ItemIndex, Symbol, Type};
use crate::quantity::Quantity;

/// A value that a native function takes or gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Datum {
    /// An amount with its dimension.
    Quantity(Quantity),
    /// Yes or no.
    Flag(bool),
    /// A text, by its number in the job's table.
    Text(Symbol),
    /// An item of the job.
    Item(ItemIndex),
}

impl Datum {
    /// Returns the value as the bits that a cell holds for it.
    pub(super) const fn bits(self) -> i64 {
        match self {
            Datum::Quantity(quantity) => quantity.amount(),
            Datum::Flag(flag) => flag as i64,
            Datum::Text(symbol) => symbol.0 as i64,
            Datum::Item(item) => item.0 as i64,
        }
    }

    fn fits(self, ty: &Type, facts: &Facts<'_>) -> bool {
        match (self, ty) {
            (Datum::Quantity(quantity), Type::Quantity(dimension)) => quantity.dimension() == *dimension,
            (Datum::Flag(_), Type::Flag) | (Datum::Text(_), Type::Text) => true,
            (Datum::Item(item), Type::Item(kind)) => {
                let job = facts.job();
                (item.0 as usize) < job.len() && job.schema.spec(job.item(item).kind).name == *kind
            }
            _ => false,
        }
    }
}

/// A call of a native function.
#[derive(Clone, Copy, Debug)]
pub struct Call<'a> {
    /// The arguments, of the types that were registered. Each is recorded: a call with an unrecorded argument gives
    /// an unrecorded value without reaching the function.
    pub arguments: &'a [Datum],
    /// The facts of the job.
    pub facts: &'a Facts<'a>,
    /// The code in force.
    pub book: &'a Book,
}

/// What a native function gives: a value, `None` where it can't be known, or what is wrong.
pub type Given = Result<Option<Datum>, String>;

/// A registered function, by its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct NativeId(u16);

/// A registered function.
pub(super) struct Native {
    pub(super) name: String,
    pub(super) parameters: Vec<Type>,
    pub(super) returns: Type,
    function: Box<dyn Fn(Call<'_>) -> Given + Send + Sync>,
}

impl std::fmt::Debug for Native {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}({:?}) -> {:?}", self.name, self.parameters, self.returns)
    }
}

impl Native {
    /// Calls the function. A panic in it is an error like any other.
    pub(super) fn call(&self, call: Call<'_>) -> Given {
        let facts = call.facts;
        let given = catch_unwind(AssertUnwindSafe(|| (self.function)(call)))
            .unwrap_or_else(|_| Err(format!("the function `{}` failed", self.name)))?;
        match given {
            Some(datum) if !datum.fits(&self.returns, facts) => {
                Err(format!("the function `{}` gave something else than it was registered for", self.name))
            }
            given => Ok(given),
        }
    }
}

/// Most parameters that a function may have.
pub(super) const MOST_PARAMETERS: usize = 8;

/// Why a function can't be registered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NativeError(pub String);

impl std::fmt::Display for NativeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NativeError {}

/// Functions of the language itself.
pub(super) const BUILT_IN: [&str; 3] = ["min", "max", "distance"];

/// Functions that the language had, and one that tests alone may use.
const TAKEN: [&str; 2] = ["known", "qty"];

/// The registered functions.
#[derive(Clone, Debug, Default)]
pub(super) struct Natives(Vec<Arc<Native>>);

impl Natives {
    pub(super) fn add(
        &mut self,
        name: &str,
        parameters: &[Type],
        returns: Type,
        function: impl Fn(Call<'_>) -> Given + Send + Sync + 'static,
    ) -> Result<(), NativeError> {
        let is_name = !name.is_empty()
            && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')
            && !name.starts_with(|c: char| c.is_ascii_digit());
        if !is_name
            || syntax::WORDS.contains(&name)
            || syntax::is_shut(name)
            || BUILT_IN.contains(&name)
            || TAKEN.contains(&name)
        {
            return Err(NativeError(format!("`{name}` can't be the name of a function")));
        }
        if self.find(name).is_some() {
            return Err(NativeError(format!("there is already a function `{name}`")));
        }
        if parameters.len() > MOST_PARAMETERS {
            return Err(NativeError(format!("`{name}` has more than {MOST_PARAMETERS} parameters")));
        }
        if parameters.iter().chain([&returns]).any(|ty| matches!(ty, Type::Word(_) | Type::List(_))) {
            return Err(NativeError(format!("`{name}` may take and give quantities, flags, texts and items only")));
        }
        let function = Box::new(function);
        self.0.push(Arc::new(Native { name: name.to_owned(), parameters: parameters.to_vec(), returns, function }));
        Ok(())
    }

    pub(super) fn find(&self, name: &str) -> Option<(NativeId, &Native)> {
        let at = self.0.iter().position(|native| native.name == name)?;
        Some((NativeId(at as u16), self.0.get(at)?))
    }

    pub(super) fn get(&self, id: NativeId) -> Option<&Arc<Native>> {
        self.0.get(usize::from(id.0))
    }

    pub(super) fn names(&self) -> impl Iterator<Item = &str> + Clone {
        self.0.iter().map(|native| native.name.as_str())
    }
}
