using Serilog;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Compact;

namespace Supervisor.Daemon.Hosting;

/// <summary>How the log is written.</summary>
public enum LogFormat
{
    /// <summary>One line for a person.</summary>
    Text = 0,

    /// <summary>One compact JSON object a line, for collectors.</summary>
    Json = 1,
}

/// <summary>Makes the logger.</summary>
internal static class LogSetup
{
    private const string Line = "{Timestamp:HH:mm:ss.fff} {Level:u3} {Message:lj}{NewLine}{Exception}";

    /// <summary>To standard error: standard output is for data.</summary>
    public static Logger ToConsole(LogFormat format)
    {
        var setup = Quiet();
        return (format == LogFormat.Json
            ? setup.WriteTo.Console(new RenderedCompactJsonFormatter(), standardErrorFromLevel: LogEventLevel.Verbose)
            : setup.WriteTo.Console(outputTemplate: Line, standardErrorFromLevel: LogEventLevel.Verbose, theme: Serilog.Sinks.SystemConsole.Themes.ConsoleTheme.None))
            .CreateLogger();
    }

    /// <summary>To a file or any other writer, which stays the caller's.</summary>
    public static Logger ToWriter(TextWriter writer) => Quiet().WriteTo.Sink(new WriterSink(writer)).CreateLogger();

    /// <summary>The server's own messages only from warnings up: what the machine does is told by the supervision itself.</summary>
    private static LoggerConfiguration Quiet() => new LoggerConfiguration()
        .MinimumLevel.Information()
        .MinimumLevel.Override("Microsoft", LogEventLevel.Warning)
        .MinimumLevel.Override("Grpc", LogEventLevel.Warning);

    private sealed class WriterSink(TextWriter writer) : ILogEventSink
    {
        private readonly Serilog.Formatting.Display.MessageTemplateTextFormatter _formatter = new(Line);

        public void Emit(LogEvent logEvent)
        {
            lock (_formatter)
            {
                _formatter.Format(logEvent, writer);
                writer.Flush();
            }
        }
    }
}
