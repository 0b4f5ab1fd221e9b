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
      for (const one of document.querySelectorAll(".opblock-tag, .swagger-ui section h4, .models h4")) one.setAttribute("aria-level", "2");
    },
  });
});
