// Elements of the page. Text from the data only ever goes in through textContent.

/** Make an element: make("p", {class: "note"}, "text", child, ...). Attributes of value null are left out. */
function make(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") {
      for (const [event, handler] of Object.entries(value)) element.addEventListener(event, handler);
    } else {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
  add(element, children);
  return element;
}

/** Add children: elements, texts, lists of them; nothing for null. */
function add(element, children) {
  for (const child of children.flat(3)) {
    if (child === null || child === undefined || child === "") continue;
    element.append(child instanceof Node ? child : document.createTextNode(String(child)));
  }
  return element;
}

function find(id) {
  return document.getElementById(id);
}

/** Replace what an element holds. */
function fill(element, ...children) {
  element.replaceChildren();
  return add(element, children);
}

/** Tell a screen reader. */
function say(text) {
  find("said").textContent = text;
}

/** A term and what it is, for description lists. */
function fact(term, value, more) {
  if (value === null || value === undefined || value === "") return null;
  return make("div", {class: "fact"}, make("dt", {}, term), make("dd", {}, value, more ? make("small", {}, more) : null));
}

/** A button that is one of a choice: pressed or not. */
function choiceButton(label, pressed, action) {
  return make("button", {type: "button", "aria-pressed": pressed ? "true" : "false", on: {click: action}}, label);
}
