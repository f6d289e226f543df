using Supervisor.Bus.Links;
using Supervisor.Runtime.Messaging;

namespace Supervisor.Daemon.Hosting;

/// <summary>
/// Opens a port's device again and again on a thread that may wait, says why not once per reason instead of once per attempt, and keeps the reason
/// where the status shows it.
/// </summary>
/// <param name="port">Name of the port.</param>
/// <param name="device">Its device; a link is resolved at every opening.</param>
/// <param name="line">Settings of the line.</param>
/// <param name="channel">Where the status looks.</param>
/// <param name="advice">What should be mended about the device once it is open.</param>
/// <param name="logger">The log.</param>
internal sealed partial class LinkOpener(
    string port, string device, LineSettings line, PortChannel channel, Func<IEnumerable<string>> advice, ILogger<LinkOpener> logger)
{
    private string _told = "";
    private string _advised = "";

    public ILink? Open()
    {
        var opening = SerialLink.Open(device, line);
        if (opening.Link is not null)
        {
            _told = "";
            channel.Problem = Advise();
            LogOpened(port, device);
            return opening.Link;
        }

        channel.Problem = opening.Reason;
        if (opening.Reason != _told)
        {
            _told = opening.Reason;
            LogNotOpened(port, opening.Reason);
        }

        return null;
    }

    /// <summary>The first thing a port's thread does.</summary>
    public void Raise()
    {
        if (!RealTimePriority.TryRaiseThisThread())
        {
            LogOrdinary(port);
        }
    }

    /// <summary>An opening did not come back; so many threads hang in one.</summary>
    public void TellHung(int threads)
    {
        channel.Problem = $"{device}: opening or closing it does not come back from its driver; unplug the adapter and plug it in again";
        LogHung(port, device, threads);
    }

    private string Advise()
    {
        var all = string.Join("; ", advice());
        if (all.Length > 0 && all != _advised)
        {
            LogAdvice(port, all);
        }

        _advised = all;
        return all;
    }

    [LoggerMessage(1020, LogLevel.Information, "Port {Port} opened {Device}", EventName = "PortOpened")]
    private partial void LogOpened(string port, string device);

    [LoggerMessage(1021, LogLevel.Warning, "Port {Port} can't be opened and is tried again: {Reason}", EventName = "PortNotOpened")]
    private partial void LogNotOpened(string port, string reason);

    [LoggerMessage(1022, LogLevel.Information, "Port {Port} runs without real-time priority: cycles may be late while the board is busy; LimitRTPRIO=30 or CAP_SYS_NICE permits it", EventName = "OrdinaryPriority")]
    private partial void LogOrdinary(string port);

    [LoggerMessage(1023, LogLevel.Warning, "Port {Port}: opening or closing {Device} did not come back from its driver; it is tried again by another thread while {Threads} hang. Unplug the adapter and plug it in again", EventName = "PortOpeningHangs")]
    private partial void LogHung(string port, string device, int threads);

    [LoggerMessage(1024, LogLevel.Warning, "Port {Port}: {Advice}", EventName = "PortAdvice")]
    private partial void LogAdvice(string port, string advice);
}
