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
  });
});
