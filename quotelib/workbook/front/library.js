globalThis.quotelibDraw = vegaEmbed;
