//! A form: a name and a field a line, and beside each what is understood of it, or what would be.

use ratatui::layout::Rect;

use super::{Canvas, overlay};
use crate::app::form::{Empty, Form};
use crate::app::text::{width, wrap};
use crate::app::{State, Target};
use crate::tui::theme::Ink;

/// Columns of a field's name.
const NAME: u16 = 23;

pub fn draw(canvas: &mut Canvas, state: &State, area: Rect) {
    let Some(form) = &state.form else { return };
    let whole: Vec<&String> = form.trouble.iter().filter(|t| t.0.is_none()).map(|t| &t.1).collect();
    let lines = form.fields.len() + usize::from(!whole.is_empty()) * 3 + 3;
    let height = (lines.min(usize::from(area.height) - 1)) as u16;
    let place = Rect::new(area.x, area.bottom() - 1 - height, area.width, height);
    let inner = overlay::sheet(canvas, place, &form.title);
    let wide = inner.width >= 70;
    // On a narrow screen the reading of the field in hand stands under the fields.
    let told = if wide { u16::from(!whole.is_empty()) * 3 } else { 2 };
    let room = usize::from(inner.height.saturating_sub(told)).max(1);
    let top = form.cursor.saturating_sub(room * 2 / 3).min(form.fields.len().saturating_sub(room));
    let name = if wide { NAME } else { NAME.min(inner.width * 2 / 5) };
    let typed = if wide { (inner.width - name) * 2 / 5 } else { inner.width - name };
    for (i, blank) in form.fields.iter().enumerate().skip(top).take(room) {
        let y = inner.y + (i - top) as u16;
        let here = i == form.cursor;
        let spec = form.spec(i);
        let label = if here { canvas.bold(Ink::Accent) } else { canvas.ink(Ink::Quiet) };
        canvas.text(inner.x, y, 1, if here { "▸" } else { " " }, label);
        canvas.text(inner.x + 1, y, name - 2, spec.words, label);
        let plain = canvas.ink(Ink::Plain);
        let x = inner.x + name;
        if here {
            canvas.field(x, y, typed.saturating_sub(1), &blank.field, canvas.bold(Ink::Plain));
        } else {
            canvas.text(x, y, typed.saturating_sub(1), blank.field.text(), plain);
        }
        canvas.places.add(Rect::new(inner.x, y, inner.width, 1), Target::Blank(i));
        if wide {
            let (words, ink) = beside(form, state, i);
            canvas.text(x + typed, y, inner.width - name - typed, &words, canvas.ink(ink));
        }
    }
    let (danger, quiet) = (canvas.ink(Ink::Danger), canvas.ink(Ink::Quiet));
    let foot = inner.bottom().saturating_sub(told);
    if wide {
        let lines = whole.iter().flat_map(|t| wrap(&format!("! {t}"), usize::from(inner.width)));
        for (line, y) in lines.zip(foot..inner.bottom()) {
            canvas.text(inner.x, y, inner.width, &line, danger);
        }
    } else {
        let (words, ink) = match whole.first() {
            Some(t) => (format!("! {t}"), Ink::Danger),
            None => {
                let (says, ink) = beside(form, state, form.cursor);
                (format!("{}: {says}", form.spec(form.cursor).words), ink)
            }
        };
        let style = if ink == Ink::Danger { danger } else { quiet };
        for (line, y) in wrap(&words, usize::from(inner.width)).iter().zip(foot..inner.bottom()) {
            canvas.text(inner.x, y, width(line) as u16, line, style);
        }
    }
}

/// What is understood of a field, or what would be.
fn beside(form: &Form, state: &State, i: usize) -> (String, Ink) {
    let spec = form.spec(i);
    if let Some((_, told)) = form.trouble.iter().find(|t| t.0 == Some(i)) {
        return (format!("! {told}"), Ink::Danger);
    }
    let choices = spec.kind.steps(&state.kitchen);
    match form.understood(i, state.here()) {
        Ok(found) if found.value.is_some() && found.shown.is_empty() => match choices.is_empty() {
            true => (String::new(), Ink::Quiet),
            false => (format!("◂ {} ▸", choices.join(" · ")), Ink::Quiet),
        },
        Ok(found) if found.value.is_some() => (format!("= {}", found.shown), Ink::Quiet),
        Ok(_) => match (spec.empty, choices.is_empty()) {
            (Empty::Means(""), true) | (Empty::Never, _) => (String::new(), Ink::Quiet),
            (Empty::Means(means), _) => (format!("empty: {means}"), Ink::Quiet),
        },
        // While it is being typed it is not yet wrong.
        Err(expected) if i == form.cursor || form.fields[i].field.is_empty() => (expected, Ink::Accent),
        Err(expected) => (format!("! {expected}"), Ink::Danger),
    }
}
