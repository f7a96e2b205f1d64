// The client's sheet, chosen or dropped.
import { post } from "./desk.js";

const place = document.getElementById("drop-sheet");
const take = (file) => file && post(place.dataset.to, file, { "X-Name": encodeURIComponent(file.name) });
place.addEventListener("change", (event) => take(event.target.files?.[0]));
document.addEventListener("dragover", (event) => { if (event.dataTransfer.types.includes("Files")) event.preventDefault(); });
document.addEventListener("drop", (event) => { event.preventDefault(); take(event.dataTransfer.files[0]); });
