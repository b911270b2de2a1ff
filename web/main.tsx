import { render } from 'preact';
import './look/tokens.css';
import './look/fonts.css';
import './look/base.css';
import './look/shell.css';
import './look/marks.css';
import './look/forms.css';
import './look/print.css';
import { startDevice } from './device/start.ts';
import { App } from './shell/app.tsx';

const place = document.getElementById('app');
if (place) render(<App />, place);
startDevice();
