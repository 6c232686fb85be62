//! Cuts a WebAssembly module in two: what the first picture needs, and the rest, which comes later. Both share memory,
//! table and globals; the rest is compiled once and called as if it had always been there. What is called too early
//! fetches the rest by itself. Knows functions by their names and nothing of what they do.

use anyhow::{Context, Result, ensure};
use std::collections::{BTreeMap, BTreeSet};
use walrus::ir::{Call, CallIndirect, Const, IfElse, InstrSeqId, Value, Visitor, dfs_in_order};
use walrus::{
    ConstExpr, ElementItems, ElementKind, ExportItem, FunctionBuilder, FunctionId, FunctionKind, GlobalId, GlobalKind,
    ImportedFunction, Module, ModuleConfig, RefType, TableId, ValType,
};

/// The module under whose name the rest knows what it shares with the first half.
const FIRST: &str = "first";
/// Exported by the first half: 1 once the rest is there.
const HERE: &str = "rest_is_here";
/// Part of the name of the import that brings the rest at once.
const FETCH: &str = "fanlapFetchRest";

/// The two halves.
pub struct Halves {
    /// What is instantiated first.
    pub first: Vec<u8>,
    /// The rest, instantiated with the exports of the first half as `first`; then `rest_is_here` is set to 1.
    pub rest: Vec<u8>,
}

/// Cuts a module. `later` lists the beginnings of the names of what comes later, a line each; after a minus what does
/// not, though it begins so. What only such functions reach comes with them.
pub fn split(wasm: &[u8], later: &str) -> Result<Halves> {
    let whole = parse(wasm)?;
    let cut = Cut::of(&whole, &Later::of(later))?;
    Ok(Halves { first: first(whole, &cut)?, rest: rest(parse(wasm)?, &cut)? })
}

fn parse(wasm: &[u8]) -> Result<Module> {
    let mut config = ModuleConfig::new();
    config.generate_name_section(false).generate_producers_section(false);
    config.parse(wasm).context("cannot read the module to be cut in two")
}

/// Which functions come later, by the beginnings of their names.
struct Later<'a> {
    later: Vec<&'a str>,
    not: Vec<&'a str>,
}

impl<'a> Later<'a> {
    fn of(list: &'a str) -> Self {
        let lines = list.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with('#'));
        let (not, later): (Vec<&str>, Vec<&str>) = lines.partition(|line| line.starts_with('-'));
        Self { later, not: not.into_iter().map(|line| line[1..].trim()).collect() }
    }

    /// Whether a function comes later; `<Type as Trait>::method` goes by its type, `crate[0a1b]::` is `crate::`.
    fn holds(&self, name: &str) -> bool {
        let mut parts = name.split('[');
        let first = parts.next().unwrap_or_default().to_string();
        let name = parts.fold(first, |name, part| name + part.split_once("]").map_or(part, |(_, rest)| rest));
        let name = name.trim_start_matches(['<', '&']).trim_start_matches("mut ").trim_start_matches("dyn ");
        let any = |list: &[&str]| list.iter().any(|beginning| name.starts_with(beginning));
        any(&self.later) && !any(&self.not)
    }
}

/// Functions by their place in the module, which is the same however often it is read.
type Place = usize;

/// Who is where, and how the halves reach each other.
struct Cut {
    /// The functions of the rest.
    rest: BTreeSet<Place>,
    /// Functions of the rest that the first half calls, with their slots in the table.
    doors: BTreeMap<Place, Vec<u64>>,
    /// Functions and imports of the first half that the rest calls.
    shared: BTreeSet<Place>,
    /// Slots of the table, with those added for the doors.
    slots: u64,
    /// The import that fetches the rest.
    fetch: Place,
}

impl Cut {
    fn of(module: &Module, later: &Later) -> Result<Self> {
        let places: BTreeMap<FunctionId, Place> = module.funcs.iter().enumerate().map(|(i, f)| (f.id(), i)).collect();
        let calls: Vec<BTreeSet<Place>> = module.funcs.iter().map(|f| called(&f.kind, &places)).collect();
        let named = |f: &walrus::Function| f.name.as_deref().is_some_and(|name| later.holds(name));
        let late: Vec<bool> =
            module.funcs.iter().map(|f| matches!(f.kind, FunctionKind::Local(_)) && named(f)).collect();
        let mut in_table = slots(module, &places)?;
        let exported = module.exports.iter().filter_map(|export| match export.item {
            ExportItem::Function(id) => Some(places[&id]),
            _ => None,
        });
        let known: BTreeSet<Place> =
            exported.chain(module.start.map(|id| places[&id])).chain(in_table.keys().copied()).collect();
        let mut first = BTreeSet::new();
        let mut left: Vec<Place> = known.iter().copied().filter(|place| !late[*place]).collect();
        while let Some(place) = left.pop() {
            if first.insert(place) {
                left.extend(calls[place].iter().filter(|called| !late[**called]));
            }
        }
        let local =
            |place: &Place| matches!(module.funcs.iter().nth(*place).map(|f| &f.kind), Some(FunctionKind::Local(_)));
        let rest: BTreeSet<Place> = (0..calls.len()).filter(|place| !first.contains(place)).collect();
        let rest: BTreeSet<Place> = rest.into_iter().filter(local).collect();
        let reached = first.iter().flat_map(|place| &calls[*place]).chain(&known);
        let mut slots = table(module)?.1;
        let mut doors = BTreeMap::new();
        for door in reached.copied().filter(|place| rest.contains(place)).collect::<BTreeSet<_>>() {
            let own = in_table.remove(&door).unwrap_or_else(|| {
                slots += 1;
                vec![slots - 1]
            });
            doors.insert(door, own);
        }
        let shared =
            rest.iter().flat_map(|place| &calls[*place]).copied().filter(|place| !rest.contains(place)).collect();
        let fetch = module.imports.iter().find_map(|import| match import.kind {
            walrus::ImportKind::Function(id) if import.name.contains(FETCH) => Some(places[&id]),
            _ => None,
        });
        Ok(Self { rest, doors, shared, slots, fetch: fetch.context("nothing fetches the rest")? })
    }
}

/// The functions that a function names.
fn called(kind: &FunctionKind, places: &BTreeMap<FunctionId, Place>) -> BTreeSet<Place> {
    struct Named<'a>(BTreeSet<Place>, &'a BTreeMap<FunctionId, Place>);
    impl<'instr> Visitor<'instr> for Named<'_> {
        fn visit_function_id(&mut self, id: &FunctionId) {
            self.0.insert(self.1[id]);
        }
    }
    let FunctionKind::Local(function) = kind else { return BTreeSet::new() };
    let mut named = Named(BTreeSet::new(), places);
    dfs_in_order(&mut named, function, function.entry_block());
    named.0
}

/// The table of functions, and how many slots it has.
fn table(module: &Module) -> Result<(TableId, u64)> {
    let table = module.tables.iter().find(|table| table.element_ty == RefType::FUNCREF);
    table.map(|table| (table.id(), table.initial)).context("the module has no table of functions")
}

/// Gives the table room for its slots: both halves must say the same of it.
fn set_slots(module: &mut Module, table: TableId, slots: u64) {
    let table = module.tables.get_mut(table);
    table.initial = slots;
    table.maximum = table.maximum.map(|most| most.max(slots));
}

/// Where each function lies in the table.
fn slots(module: &Module, places: &BTreeMap<FunctionId, Place>) -> Result<BTreeMap<Place, Vec<u64>>> {
    let mut slots: BTreeMap<Place, Vec<u64>> = BTreeMap::new();
    for element in module.elements.iter() {
        let ElementKind::Active { offset: ConstExpr::Value(Value::I32(from)), .. } = element.kind else { continue };
        let functions: Vec<Option<FunctionId>> = match &element.items {
            ElementItems::Functions(list) => list.iter().copied().map(Some).collect(),
            ElementItems::Expressions(_, list) => {
                list.iter().map(|item| if let ConstExpr::RefFunc(id) = item { Some(*id) } else { None }).collect()
            }
        };
        for (i, id) in functions.into_iter().enumerate() {
            if let Some(id) = id {
                slots.entry(places[&id]).or_default().push(from as u64 + i as u64);
            }
        }
    }
    Ok(slots)
}

/// What both halves call a thing that they share.
fn shared_name(kind: char, place: Place) -> String {
    format!("{kind}{place}")
}

/// The first half: the rest taken out, a door in the place of each function that is called.
fn first(mut module: Module, cut: &Cut) -> Result<Vec<u8>> {
    let ids: Vec<FunctionId> = module.funcs.iter().map(|f| f.id()).collect();
    let (table, _) = table(&module)?;
    let no = ConstExpr::Value(Value::I32(0));
    let here = module.globals.add_local(ValType::I32, true, false, no);
    for (door, slots) in &cut.doors {
        let body = door_to(&mut module, ids[*door], (table, slots[0]), (here, ids[cut.fetch]))?;
        module.funcs.get_mut(ids[*door]).kind = FunctionKind::Local(body);
    }
    for place in &cut.shared {
        module.exports.add(&shared_name('f', *place), ids[*place]);
    }
    for (i, id) in module.globals.iter().map(|global| global.id()).enumerate().collect::<Vec<_>>() {
        if id != here {
            module.exports.add(&shared_name('g', i), id);
        }
    }
    for (i, id) in module.tables.iter().map(|table| table.id()).enumerate().collect::<Vec<_>>() {
        module.exports.add(&shared_name('t', i), id);
    }
    module.exports.add(HERE, here);
    set_slots(&mut module, table, cut.slots);
    walrus::passes::gc::run(&mut module);
    Ok(module.emit_wasm())
}

/// A function that fetches the rest if it is not there yet, and then calls what lies in a slot of the table.
fn door_to(
    module: &mut Module,
    function: FunctionId,
    (table, slot): (TableId, u64),
    (here, fetch): (GlobalId, FunctionId),
) -> Result<walrus::LocalFunction> {
    let ty = module.funcs.get(function).ty();
    let (params, results) = (module.types.get(ty).params().to_vec(), module.types.get(ty).results().to_vec());
    let locals: Vec<_> = params.iter().map(|param| module.locals.add(*param)).collect();
    let mut builder = FunctionBuilder::new(&mut module.types, &params, &results);
    let brings: InstrSeqId = builder.dangling_instr_seq(None).instr(Call { func: fetch }).id();
    let nothing: InstrSeqId = builder.dangling_instr_seq(None).id();
    let mut body = builder.func_body();
    body.global_get(here).instr(IfElse { consequent: nothing, alternative: brings });
    for local in &locals {
        body.local_get(*local);
    }
    body.instr(Const { value: Value::I32(slot.try_into()?) }).instr(CallIndirect { ty, table });
    Ok(builder.local_func(locals))
}

/// The rest: the first half's functions, memory, tables and globals are imported; its own go into their slots.
fn rest(mut module: Module, cut: &Cut) -> Result<Vec<u8>> {
    let ids: Vec<FunctionId> = module.funcs.iter().map(|f| f.id()).collect();
    let (table, _) = table(&module)?;
    module.start = None;
    for id in module.exports.iter().map(|export| export.id()).collect::<Vec<_>>() {
        module.exports.delete(id);
    }
    for id in module.data.iter().map(|data| data.id()).collect::<Vec<_>>() {
        module.data.delete(id);
    }
    for id in module.elements.iter().map(|element| element.id()).collect::<Vec<_>>() {
        module.elements.delete(id);
    }
    import_functions(&mut module, cut, &ids);
    import_the_others(&mut module);
    for (door, slots) in &cut.doors {
        for slot in slots {
            let offset = ConstExpr::Value(Value::I32((*slot).try_into()?));
            let kind = ElementKind::Active { table, offset };
            let element = module.elements.add(kind, ElementItems::Functions(vec![ids[*door]]));
            module.tables.get_mut(table).elem_segments.insert(element);
        }
    }
    set_slots(&mut module, table, cut.slots);
    walrus::passes::gc::run(&mut module);
    ensure!(module.data.iter().next().is_none(), "the rest holds data");
    Ok(module.emit_wasm())
}

/// Makes every function of the first half an import.
fn import_functions(module: &mut Module, cut: &Cut, ids: &[FunctionId]) {
    for (place, id) in ids.iter().enumerate().filter(|(place, _)| !cut.rest.contains(place)) {
        let name = shared_name('f', place);
        match &module.funcs.get(*id).kind {
            FunctionKind::Import(import) => {
                let import = module.imports.get_mut(import.import);
                (import.module, import.name) = (FIRST.to_string(), name);
            }
            _ => {
                let ty = module.funcs.get(*id).ty();
                let import = module.imports.add(FIRST, &name, *id);
                module.funcs.get_mut(*id).kind = FunctionKind::Import(ImportedFunction { import, ty });
            }
        }
    }
}

/// Makes memory, tables and globals imports.
fn import_the_others(module: &mut Module) {
    for id in module.memories.iter().map(|memory| memory.id()).collect::<Vec<_>>() {
        let import = module.imports.add(FIRST, "memory", id);
        let memory = module.memories.get_mut(id);
        memory.import = Some(import);
        memory.data_segments.clear();
    }
    for (i, id) in module.tables.iter().map(|table| table.id()).enumerate().collect::<Vec<_>>() {
        let import = module.imports.add(FIRST, &shared_name('t', i), id);
        let table = module.tables.get_mut(id);
        table.import = Some(import);
        table.elem_segments.clear();
    }
    for (i, id) in module.globals.iter().map(|global| global.id()).enumerate().collect::<Vec<_>>() {
        let import = module.imports.add(FIRST, &shared_name('g', i), id);
        module.globals.get_mut(id).kind = GlobalKind::Import(import);
    }
}
