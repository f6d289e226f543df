using Supervisor.Bus.Links;

namespace Supervisor.Daemon.Hosting;

/// <summary>Opens a port's device again and again on the port's thread, and says why not once per reason instead of once per attempt.</summary>
internal sealed partial class LinkOpener(string port, string device, LineSettings line, ILogger<LinkOpener> logger)
{
    private string _told = "";

    public ILink? Open()
    {
        var opening = SerialLink.Open(device, line);
        if (opening.Link is not null)
        {
            _told = "";
            LogOpened(port, device);
        }
        else if (opening.Reason != _told)
        {
            _told = opening.Reason;
            LogNotOpened(port, opening.Reason);
        }

        return opening.Link;
    }

    [LoggerMessage(1020, LogLevel.Information, "Port {Port} opened {Device}", EventName = "PortOpened")]
    private partial void LogOpened(string port, string device);

    [LoggerMessage(1021, LogLevel.Warning, "Port {Port} can't be opened and is tried again: {Reason}", EventName = "PortNotOpened")]
    private partial void LogNotOpened(string port, string reason);
}
