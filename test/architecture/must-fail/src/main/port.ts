/** Opens a serial port where it must not: the layers test expects this to be refused. */
export { SerialPort } from "serialport";
