// Shows the service's own OpenAPI document; no other host is ever asked.
window.addEventListener("load", () => {
  window.SwaggerUIBundle({
    url: "v1/openapi.json",
    dom_id: "#document",
    deepLinking: false,
    validatorUrl: null,
    defaultModelsExpandDepth: 0,
    docExpansion: "list",
    tryItOutEnabled: true,
    onComplete: () => { // groups are the first headings below the title
      const about = document.querySelector(".information-container");
      about.setAttribute("role", "region");
      about.setAttribute("aria-label", "About");
      const put = (query, name, value) => document.querySelectorAll(query).forEach((one) => one.setAttribute(name, value(one)));
      const level = (query, level) => put(query, "aria-level", () => level);
      const levels = () => {
        level(".opblock-tag, .swagger-ui section.models > h4", "2");
        level(".opblock-body h4", "3"); // what opens below them
        level(".opblock-body h5", "4");
        put("pre.microlight", "tabindex", () => "0"); // it scrolls
        put(".scheme-container", "role", () => "region");
        put(".scheme-container, .scheme-container select", "aria-label", () => "Server");
        put(".opblock-body select:not([aria-label])", "aria-label", (one) => one.closest("tr")?.dataset.paramName || "Example or type");
        put("textarea.body-param__text", "aria-label", () => "Request body");
        put("table.responses-table", "aria-label", (one) => `Responses, ${one.id}`);
      };
      levels();
      new MutationObserver(levels).observe(document.querySelector("#document"), { childList: true, subtree: true });
    },
  });
});
