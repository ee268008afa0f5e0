// The desk's page begins here.
import { render } from "preact";
import { App } from "./app";
import { open } from "./desk";
import "./style/type.css";
import "./style/desk.css";
import "./style/table.css";
import "./style/sheet.css";
import "./style/stand.css";
import "./style/rig.css";
import "./style/handing.css";

open();
const ground = document.getElementById("desk");
if (ground) render(<App />, ground);
