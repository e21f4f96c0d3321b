// Small helps for the pages; everything works without this file.
"use strict";
document.documentElement.classList.add("scripted");
