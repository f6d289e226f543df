namespace Supervisor.Bus.Links;

/// <summary>Opens a serial port by whatever way is right on this system.</summary>
public static class SerialLink
{
    /// <summary>Opens a device. Deadlines of the link are on <see cref="MonotonicClock.System"/>.</summary>
    public static LinkOpening Open(string device, LineSettings line) =>
        OperatingSystem.IsLinux() ? LinuxSerialLink.Open(device, line) : SerialPortLink.Open(device, line, MonotonicClock.System);
}
