import { LocationProvider, lazy, Route, Router } from 'preact-iso';
import { NewVersion } from '../device/new-version.tsx';
import { RoundsPage } from '../rounds/page.tsx';
import { Header } from './header.tsx';
import { MissingPage } from './missing.tsx';
import { Moved } from './moved.tsx';

// The rounds are what a technician opens first; the rest is fetched when it is gone to.
const InstrumentsPage = lazy(() => import('../instruments/page.tsx').then((m) => m.InstrumentsPage));
const InstrumentPage = lazy(() => import('../instrument/page.tsx').then((m) => m.InstrumentPage));
const TuningPage = lazy(() => import('../visit-sheet/page.tsx').then((m) => m.TuningPage));
const VisitSheetPage = lazy(() => import('../visit-sheet/page.tsx').then((m) => m.VisitSheetPage));
const FleetPage = lazy(() => import('../fleet/page.tsx').then((m) => m.FleetPage));
const InspectionsPage = lazy(() => import('../fleet/inspections.tsx').then((m) => m.InspectionsPage));
const InventoryPage = lazy(() => import('../inventory/page.tsx').then((m) => m.InventoryPage));
const DevicePage = lazy(() => import('../device/page.tsx').then((m) => m.DevicePage));
const NoticesPage = lazy(() => import('../notices/page.tsx').then((m) => m.NoticesPage));
const YearPage = lazy(() => import('../rounds/year.tsx').then((m) => m.YearPage));
const RoomsPage = lazy(() => import('../rooms/page.tsx').then((m) => m.RoomsPage));
const RoomDetailPage = lazy(() => import('../rooms/detail.tsx').then((m) => m.RoomDetailPage));
const WeatherPage = lazy(() => import('../rooms/weather.tsx').then((m) => m.WeatherPage));
const TaskLinkPage = lazy(() => import('../rooms/task-link.tsx').then((m) => m.TaskLinkPage));
const EventsPage = lazy(() => import('../events/page.tsx').then((m) => m.EventsPage));
const EventPage = lazy(() => import('../events/form.tsx').then((m) => m.EventPage));
const CalibratePage = lazy(() => import('../sensors/calibrate.tsx').then((m) => m.CalibratePage));
const DoubtsPage = lazy(() => import('../sensors/doubts.tsx').then((m) => m.DoubtsPage));
const LoggerFilePage = lazy(() => import('../sensors/file/page.tsx').then((m) => m.LoggerFilePage));
const BenchPage = lazy(() => import('../sensors/bench/page.tsx').then((m) => m.BenchPage));
const PeoplePage = lazy(() => import('../people/page.tsx').then((m) => m.PeoplePage));
const PersonPage = lazy(() => import('../people/person.tsx').then((m) => m.PersonPage));
const MessagesPage = lazy(() => import('../people/messages.tsx').then((m) => m.MessagesPage));
const CareWordsPage = lazy(() => import('../people/words.tsx').then((m) => m.CareWordsPageView));
const SensorsPage = lazy(() => import('../sensors/page.tsx').then((m) => m.SensorsPage));
const SettingsPage = lazy(() => import('../settings/page.tsx').then((m) => m.SettingsPage));
const WatchSettingsTop = lazy(() => import('../watch-settings/page.tsx').then((m) => m.WatchSettingsTop));
const WatchSettingsPage = lazy(() => import('../watch-settings/page.tsx').then((m) => m.WatchSettingsPage));
const QualityPage = lazy(() => import('../watch-settings/quality.tsx').then((m) => m.QualityPage));
const VenuePage = lazy(() => import('../settings/venue.tsx').then((m) => m.VenuePage));
const RoomPage = lazy(() => import('../settings/room.tsx').then((m) => m.RoomPage));
const InstrumentForm = lazy(() => import('../settings/instrument.tsx').then((m) => m.InstrumentForm));

export function App() {
  return (
    <LocationProvider>
      <Header />
      <NewVersion />
      <Router>
        <Route path="/" component={RoundsPage} />
        <Route path="/instruments" component={InstrumentsPage} />
        <Route path="/instruments/:id" component={InstrumentPage} />
        <Route path="/instruments/:id/visit" component={TuningPage} />
        <Route path="/instruments/:id/sheet" component={VisitSheetPage} />
        <Route path="/instruments/:id/inspections" component={InspectionsPage} />
        <Route path="/fleet" component={FleetPage} />
        <Route path="/inventory" component={InventoryPage} />
        <Route path="/device" component={DevicePage} />
        <Route path="/rounds" component={RoundsPage} />
        <Route path="/rounds/year" component={YearPage} />
        <Route path="/notices" component={NoticesPage} />
        <Route path="/calls" component={() => <Moved to="/rounds" />} />
        <Route path="/rooms" component={RoomsPage} />
        <Route path="/rooms/:id" component={RoomDetailPage} />
        <Route path="/venues/:id/weather" component={WeatherPage} />
        <Route path="/venues/:id/tasks" component={TaskLinkPage} />
        <Route path="/events" component={EventsPage} />
        <Route path="/events/:id" component={EventPage} />
        <Route path="/sensors" component={SensorsPage} />
        <Route path="/sensors/bench" component={BenchPage} />
        <Route path="/sensors/file" component={LoggerFilePage} />
        <Route path="/sensors/calibrate/:id" component={CalibratePage} />
        <Route path="/sensors/doubts/:id" component={DoubtsPage} />
        <Route path="/people" component={PeoplePage} />
        <Route path="/people/messages" component={MessagesPage} />
        <Route path="/people/words" component={CareWordsPage} />
        <Route path="/people/:id" component={PersonPage} />
        <Route path="/settings" component={SettingsPage} />
        <Route path="/settings/watch" component={WatchSettingsTop} />
        <Route path="/settings/watch/:scope/:id" component={WatchSettingsPage} />
        <Route path="/settings/watch-quality" component={QualityPage} />
        <Route path="/settings/venues/:id" component={VenuePage} />
        <Route path="/settings/rooms/:id" component={RoomPage} />
        <Route path="/settings/instruments/:id" component={InstrumentForm} />
        <Route default component={MissingPage} />
      </Router>
    </LocationProvider>
  );
}
