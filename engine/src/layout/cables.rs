//! Cables: from the panel along the boxes of each circuit, to switches and from them to what they control.

use super::choices::field;
use super::draft::Draft;
use super::item::Written;
use super::only::Part;
use crate::calc::protection::is_plugged;
use crate::model::ItemIndex;
use crate::model::kinds::{appliance, cable, circuit, device, luminaire, opening, outlet_box, panel};
use crate::quantity::Dimension;

/// A box on a circuit.
#[derive(Clone, Debug)]
pub(super) struct Node {
    pub(super) id: String,
    pub(super) room: Option<ItemIndex>,
    /// Where it is on the outline of its room.
    pub(super) at: Option<i64>,
    /// Whether it is on a ceiling.
    pub(super) overhead: bool,
    /// Whether something in it needs the unswitched conductors of the circuit.
    pub(super) trunk: bool,
    pub(super) alarm: bool,
    /// Whether a cable of the circuit reaches it already.
    pub(super) reached: bool,
    /// Whether it is an appliance, wired direct.
    pub(super) appliance: bool,
}

/// A switch and what it controls.
#[derive(Clone, Debug)]
struct Control {
    in_box: String,
    three_way: bool,
    light_boxes: Vec<String>,
}

impl Draft<'_> {
    pub(super) fn cables(&mut self) {
        if !self.only.asks(Part::Cables) {
            return;
        }
        let circuits: Vec<String> = self.feeds.iter().map(|feed| feed.id.clone()).collect();
        for circuit in circuits {
            self.circuit_cables(&circuit);
        }
    }

    fn panel_of(&self, circuit: &str) -> Option<String> {
        let written = self.job.find(circuit).and_then(|item| self.job.link(item, circuit::PANEL));
        let first = self.of(panel::NAME).first().copied();
        let proposed = self.items.iter().find(|item| item.kind == "panel").map(|item| item.id.clone());
        written.or(first).map(|item| self.job.id(item).to_owned()).or(proposed)
    }

    fn circuit_cables(&mut self, circuit: &str) {
        let Some(panel) = self.panel_of(circuit) else { return };
        let (mut nodes, controls) = self.nodes(circuit);
        let base = self.insulated(circuit);
        let second: Vec<String> = second_ends(&controls);
        for node in &mut nodes {
            let plain = controls.iter().any(|control| control.in_box == node.id && !control.three_way);
            if second.contains(&node.id) && !plain {
                node.trunk = false;
            }
        }
        let mut last: Option<Node> = nodes.iter().rfind(|node| node.reached && node.trunk).cloned();
        let mut trunk: Vec<Node> = nodes.iter().filter(|node| node.trunk && !node.reached).cloned().collect();
        // Room by room: no run goes back to a room that the circuit has left. The alarms hang together at the end.
        let rooms: Vec<Option<ItemIndex>> = trunk.iter().map(|node| node.room).collect();
        trunk.sort_by_key(|node| (node.alarm, rooms.iter().position(|room| *room == node.room)));
        for node in trunk {
            let third = node.alarm && last.as_ref().is_some_and(|last| last.alarm);
            self.run(circuit, &panel, last.as_ref(), &node, if third { 3 } else { base });
            last = Some(node);
        }
        let mut fed: Vec<String> = Vec::new();
        for control in &controls {
            let from = nodes.iter().find(|node| node.id == control.in_box).cloned();
            let Some(mut from) = from else { continue };
            // The two three-way switches: travellers from the first, the light from the second.
            let partner = controls.iter().find(|other| {
                control.three_way
                    && other.three_way
                    && other.in_box != control.in_box
                    && other.light_boxes == control.light_boxes
            });
            if let Some(partner) = partner {
                if second.contains(&control.in_box) {
                    continue;
                }
                if let Some(to) = nodes.iter().find(|node| node.id == partner.in_box).cloned() {
                    if !to.reached {
                        self.run(circuit, &panel, Some(&from), &to, 3);
                    }
                    from = to;
                }
            }
            for light in &control.light_boxes {
                let Some(to) = nodes.iter().find(|node| node.id == *light).cloned() else { continue };
                if to.reached || to.trunk || fed.contains(light) {
                    continue;
                }
                self.run(circuit, &panel, Some(&from), &to, base);
                fed.push(light.clone());
                from = to;
            }
        }
        let loose: Vec<Node> = nodes
            .iter()
            .filter(|node| !node.trunk && !node.reached && !fed.contains(&node.id) && !second.contains(&node.id))
            .cloned()
            .collect();
        for node in loose {
            self.run(circuit, &panel, last.as_ref(), &node, base);
            last = Some(node);
        }
    }

    /// Returns the boxes of a circuit, written and proposed, and its switches.
    fn nodes(&self, circuit: &str) -> (Vec<Node>, Vec<Control>) {
        let mut nodes: Vec<Node> = Vec::new();
        let mut controls: Vec<Control> = Vec::new();
        let item = self.job.find(circuit);
        for it in item.into_iter().flat_map(|item| self.job.links(item, circuit::DEVICES)) {
            let Some(in_box) = self.job.link(it, device::BOX) else { continue };
            let kind = self.job.text(it, device::KIND).unwrap_or_default();
            self.written_node(&mut nodes, item, in_box, true, kind.ends_with("_alarm"));
            let lights = self.job.links(it, device::LIGHTS).filter_map(|light| self.job.link(light, luminaire::BOX));
            let wired = self.job.links(it, device::CONTROLLED_APPLIANCES);
            let light_boxes: Vec<String> = lights.chain(wired).map(|light| self.job.id(light).to_owned()).collect();
            if !light_boxes.is_empty() {
                let three_way = self.job.text(it, device::ACTION) == Some("three_way");
                controls.push(Control { in_box: self.job.id(in_box).to_owned(), three_way, light_boxes });
            }
        }
        for it in item.into_iter().flat_map(|item| self.job.links(item, circuit::LUMINAIRES)) {
            if let Some(in_box) = self.job.link(it, luminaire::BOX) {
                self.written_node(&mut nodes, item, in_box, false, false);
            }
        }
        for it in self
            .items
            .iter()
            .filter(|it| field(it, "circuit") == Some(circuit) && matches!(it.kind, "device" | "luminaire"))
        {
            let Some(in_box) = field(it, "box") else { continue };
            let is_device = it.kind == "device";
            let alarm = field(it, "kind").is_some_and(|kind| kind.ends_with("_alarm"));
            self.proposed_node(&mut nodes, in_box, is_device, alarm);
            let Some(Written::List(lights)) =
                it.fields.iter().find(|field| field.key == "controls").map(|field| &field.value)
            else {
                continue;
            };
            let light_boxes = lights.iter().filter_map(|light| match light {
                Written::Text(id) => self.target(id),
                _ => None,
            });
            let three_way = field(it, "action") == Some("three_way");
            controls.push(Control { in_box: in_box.to_owned(), three_way, light_boxes: light_boxes.collect() });
        }
        self.appliance_nodes(circuit, &mut nodes);
        // What a switch controls is fed from the switch; lights are no part of the trunk anyway.
        for node in &mut nodes {
            if node.appliance || self.holds_switched_receptacle(&node.id) {
                node.trunk = !controls.iter().any(|control| control.light_boxes.contains(&node.id));
            }
        }
        (nodes, controls)
    }

    /// Returns the box of a luminaire or receptacle, or the appliance itself: where the cable from its switch goes.
    fn target(&self, id: &str) -> Option<String> {
        let proposed = self.items.iter().find(|item| item.id == id && item.onto.is_none());
        if let Some(in_box) = proposed.and_then(|item| field(item, "box")) {
            return Some(in_box.to_owned());
        }
        let item = self.job.find(id)?;
        let is = |kind: &str| self.job.schema.kind(kind) == Some(self.job.item(item).kind);
        if is(appliance::NAME) {
            return Some(id.to_owned());
        }
        is(luminaire::NAME).then(|| self.job.link(item, luminaire::BOX)).flatten().map(|it| self.job.id(it).to_owned())
    }

    /// Returns whether a proposed box holds a receptacle that a switch controls whole.
    fn holds_switched_receptacle(&self, in_box: &str) -> bool {
        self.items.iter().any(|item| field(item, "box") == Some(in_box) && field(item, "switched") == Some("whole"))
    }

    /// Adds the appliances of a circuit that are wired direct.
    fn appliance_nodes(&self, circuit: &str, nodes: &mut Vec<Node>) {
        for &item in self.of(appliance::NAME) {
            let id = self.job.id(item);
            let written = self.job.link(item, appliance::CIRCUIT).map(|it| self.job.id(it));
            let filled =
                self.items.iter().find(|it| it.onto.is_some() && it.id == id).and_then(|it| field(it, "circuit"));
            if written.or(filled) != Some(circuit) || is_plugged(&self.ctx, item) {
                continue;
            }
            let room = self.job.link(item, appliance::ROOM);
            let reached = self.is_cabled(item) || self.job.links(item, appliance::RECEPTACLES).next().is_some();
            nodes.push(Node {
                id: id.to_owned(),
                room,
                at: None,
                overhead: false,
                trunk: true,
                alarm: false,
                reached,
                appliance: true,
            });
        }
    }

    /// Returns the insulated conductors of a circuit's cables where no switch or alarm asks for more: a second hot one needs a
    /// third for the neutral only where an appliance uses one.
    fn insulated(&self, circuit: &str) -> i64 {
        if !self.is_two_pole(circuit) {
            return 2;
        }
        let neutral = self.of(appliance::NAME).iter().any(|&item| {
            let id = self.job.id(item);
            let written = self.job.link(item, appliance::CIRCUIT).map(|it| self.job.id(it));
            let filled =
                self.items.iter().find(|it| it.onto.is_some() && it.id == id).and_then(|it| field(it, "circuit"));
            written.or(filled) == Some(circuit)
                && self.job.text(item, appliance::KIND).is_some_and(|kind| self.lists("appliance.four_wire", kind))
        });
        let four_wire = self.count(&["appliance.four_wire_conductors"]).and_then(|count| i64::try_from(count).ok());
        if neutral { four_wire.unwrap_or(3) } else { 2 }
    }

    fn written_node(
        &self,
        nodes: &mut Vec<Node>,
        circuit: Option<ItemIndex>,
        in_box: ItemIndex,
        trunk: bool,
        alarm: bool,
    ) {
        let id = self.job.id(in_box);
        if let Some(node) = nodes.iter_mut().find(|node| node.id == id) {
            node.trunk |= trunk;
            return;
        }
        use crate::model::kinds::cable_end;
        let mut ends = self.job.links(in_box, outlet_box::ENDS);
        let of_circuit = |end: ItemIndex| {
            let cable = self.job.link(end, cable_end::CABLE);
            cable.is_some_and(|it| {
                self.job.link(it, cable::CIRCUIT) == circuit || self.job.link(it, cable::SECOND_CIRCUIT) == circuit
            })
        };
        let piped = !self.ctx.index.raceways_at(self.job, in_box).is_empty();
        let room = self.job.link(in_box, outlet_box::ROOM);
        let at = room.and_then(|room| {
            let side_at = self.outline(room)?.side(self.job.link(in_box, outlet_box::WALL)?)?.start;
            Some(side_at + self.amount(in_box, outlet_box::ALONG)?)
        });
        nodes.push(Node {
            id: id.to_owned(),
            room,
            at,
            overhead: self.job.text(in_box, outlet_box::MOUNTED) == Some("ceiling"),
            trunk,
            alarm,
            reached: piped || ends.any(of_circuit),
            appliance: false,
        });
    }

    fn proposed_node(&self, nodes: &mut Vec<Node>, in_box: &str, trunk: bool, alarm: bool) {
        if let Some(node) = nodes.iter_mut().find(|node| node.id == in_box) {
            node.trunk |= trunk;
            return;
        }
        let Some(item) = self.items.iter().find(|item| item.kind == "box" && item.id == in_box) else { return };
        let mut room = field(item, "room").and_then(|room| self.job.find(room));
        let mut at = room.and_then(|room| {
            let side = self.outline(room)?.side(self.job.find(field(item, "wall")?)?)?.start;
            let along = crate::quantity::parse(field(item, "along")?, Dimension::Length).ok()?;
            Some(side + along.amount())
        });
        // A light outside a door is reached through the wall beside it, wherever the yard's own walls are.
        let door = self.outside.iter().find(|(id, _)| id == in_box).map(|(_, door)| *door);
        if let Some((door, inside)) = door.and_then(|door| Some((door, self.job.link(door, opening::ROOM)?))) {
            (room, at) = (Some(inside), self.middle(inside, door));
        }
        let overhead = field(item, "mounted") == Some("ceiling");
        nodes.push(Node { id: in_box.to_owned(), room, at, overhead, trunk, alarm, reached: false, appliance: false });
    }
}

/// Returns the boxes of three-way switches that are fed from their partner.
fn second_ends(controls: &[Control]) -> Vec<String> {
    let mut second: Vec<String> = Vec::new();
    for (n, control) in controls.iter().enumerate().filter(|(_, control)| control.three_way) {
        let earlier = controls.iter().take(n).any(|other| {
            other.three_way && other.light_boxes == control.light_boxes && !second.contains(&other.in_box)
        });
        if earlier {
            second.push(control.in_box.clone());
        }
    }
    second
}
