// The desk's page starts here.
import "./style/type.css";
import "./style/desk.css";
import { render } from "preact";
import { App } from "./app";
import { open } from "./store";

open();
const ground = document.getElementById("desk");
if (ground) render(<App />, ground);
