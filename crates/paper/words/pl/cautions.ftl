## Cautions. What stands here is said by any workshop; its letterhead can add to it.

cautions = Wskazówki bezpieczeństwa
caution-mains = Napięcie sieciowe. Przed otwarciem szafy sterowniczej odłączyć maszynę od zasilania, zabezpieczyć przed ponownym załączeniem i sprawdzić brak napięcia. Demontaż, montaż i próby urządzenia mogą wykonywać wyłącznie uprawnieni elektrycy.
caution-charge = Zgromadzony ładunek. Po odłączeniu zasilania kondensatory pozostają niebezpiecznie naładowane. Odczekać czas rozładowania podany na urządzeniu i wykonać pomiar przed dotknięciem.
caution-start = Nieoczekiwane uruchomienie. Po przywróceniu zasilania sterownika maszyna może ruszyć samoczynnie. Do zakończenia uruchomienia nikt nie może przebywać w strefie zagrożenia.
caution-safety = Funkcje bezpieczeństwa. Po zamontowaniu funkcje bezpieczeństwa całej maszyny muszą zostać zwalidowane i udokumentowane przez osoby za nie odpowiedzialne (ISO 13849-2). Próba na stanowisku serwisu tego nie zastępuje.
caution-static = Elektrostatyka. Płytki drukowane są wrażliwe na wyładowania elektrostatyczne: pracować na uziemionym stanowisku z opaską na nadgarstku, przewozić wyłącznie w torebkach ekranujących.
