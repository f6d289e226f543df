using System.Collections.Concurrent;
using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Authentication;
using System.Security.Cryptography.X509Certificates;
using System.Text;

namespace Supervisor.Daemon.Tests.Messages;

/// <summary>A small server of lines on a port of this computer: what mail and requests end at. Taken down, nothing listens at its port.</summary>
internal abstract class LocalServer : IDisposable
{
    private readonly CancellationTokenSource _ends = new();
    private TcpListener _listener = new(IPAddress.Loopback, 0);

    protected LocalServer()
    {
        _listener.Start();
        Port = ((IPEndPoint)_listener.LocalEndpoint).Port;
        _ = AcceptAsync(_listener);
    }

    public int Port { get; }

    /// <summary>Nothing listens any more: whoever connects is refused, as by a computer that is there without the service.</summary>
    public void TakeDown() => _listener.Stop();

    public void BringUp()
    {
        _listener = new TcpListener(IPAddress.Loopback, Port);
        _listener.Start();
        _ = AcceptAsync(_listener);
    }

    public void Dispose()
    {
        _ends.Cancel();
        _listener.Stop();
        _ends.Dispose();
    }

    protected abstract Task ServeAsync(NetworkStream stream, CancellationToken cancellation);

    protected static async Task<string?> LineAsync(Stream stream, CancellationToken cancellation)
    {
        var line = new List<byte>();
        var one = new byte[1];
        while (await stream.ReadAsync(one, cancellation) == 1)
        {
            if (one[0] == '\n')
            {
                return Encoding.UTF8.GetString([.. line]).TrimEnd('\r');
            }

            line.Add(one[0]);
        }

        return null;
    }

    protected static Task SayAsync(Stream stream, string line, CancellationToken cancellation) => stream.WriteAsync(Encoding.UTF8.GetBytes(line + "\r\n"), cancellation).AsTask();

    private async Task AcceptAsync(TcpListener listener)
    {
        try
        {
            while (true)
            {
                var client = await listener.AcceptTcpClientAsync(_ends.Token);
                _ = Task.Run(async () =>
                {
                    using (client)
                    {
                        try
                        {
                            await ServeAsync(client.GetStream(), _ends.Token);
                        }
                        catch (Exception exception) when (exception is IOException or OperationCanceledException or AuthenticationException or ObjectDisposedException)
                        {
                        }
                    }
                });
            }
        }
        catch (Exception exception) when (exception is SocketException or OperationCanceledException or ObjectDisposedException)
        {
        }
    }
}

/// <summary>A mail server after RFC 5321 that keeps what it takes.</summary>
internal sealed class MailSink : LocalServer
{
    private readonly X509Certificate2? _certificate;

    public MailSink(X509Certificate2? certificate = null) => _certificate = certificate;

    /// <summary>Mails it has taken, head and body as they came.</summary>
    public ConcurrentQueue<string> Mails { get; } = new();

    /// <summary>What was said to log in, decoded.</summary>
    public ConcurrentQueue<string> Logins { get; } = new();

    /// <summary>Addresses it does not know.</summary>
    public IReadOnlyList<string> Unknown { get; set; } = [];

    /// <summary>Takes a mail and breaks before it says so.</summary>
    public bool Breaks { get; set; }

    protected override async Task ServeAsync(NetworkStream network, CancellationToken cancellation)
    {
        Stream stream = network;
        await SayAsync(stream, "220 sink", cancellation);
        while (await LineAsync(stream, cancellation) is { } line)
        {
            var word = line.Split(' ')[0].ToUpperInvariant();
            switch (word)
            {
                case "EHLO":
                    await SayAsync(stream, "250-sink", cancellation);
                    await SayAsync(stream, stream is SslStream || _certificate is null ? "250-AUTH PLAIN" : "250-STARTTLS", cancellation);
                    await SayAsync(stream, "250 SIZE 1000000", cancellation);
                    break;
                case "STARTTLS":
                    await SayAsync(stream, "220 go on", cancellation);
                    var secure = new SslStream(network);
                    await secure.AuthenticateAsServerAsync(new SslServerAuthenticationOptions { ServerCertificate = _certificate }, cancellation);
                    stream = secure;
                    break;
                case "AUTH":
                    Logins.Enqueue(Encoding.UTF8.GetString(Convert.FromBase64String(line.Split(' ')[2])).Replace('\0', ' ').Trim());
                    await SayAsync(stream, "235 in", cancellation);
                    break;
                case "RCPT":
                    await SayAsync(stream, Unknown.Any(address => line.Contains(address, StringComparison.Ordinal)) ? "550 unknown" : "250 ok", cancellation);
                    break;
                case "DATA":
                    await SayAsync(stream, "354 go on", cancellation);
                    await DataAsync(stream, cancellation);
                    if (Breaks)
                    {
                        return;
                    }

                    await SayAsync(stream, "250 taken", cancellation);
                    break;
                case "QUIT":
                    await SayAsync(stream, "221 bye", cancellation);
                    return;
                default:
                    await SayAsync(stream, "250 ok", cancellation);
                    break;
            }
        }
    }

    private async Task DataAsync(Stream stream, CancellationToken cancellation)
    {
        var mail = new StringBuilder();
        while (await LineAsync(stream, cancellation) is { } line && line != ".")
        {
            mail.Append(line.StartsWith('.') ? line[1..] : line).Append('\n');
        }

        Mails.Enqueue(mail.ToString());
    }
}

/// <summary>An HTTP server (RFC 9112) that keeps what it is sent.</summary>
internal sealed class RequestSink : LocalServer
{
    /// <summary>Requests: head and body.</summary>
    public ConcurrentQueue<(IReadOnlyDictionary<string, string> Headers, string Body)> Requests { get; } = new();

    /// <summary>What it answers, without the line end.</summary>
    public string Answer { get; set; } = "HTTP/1.1 204 No Content";

    protected override async Task ServeAsync(NetworkStream stream, CancellationToken cancellation)
    {
        while (await LineAsync(stream, cancellation) is { } first)
        {
            var headers = new Dictionary<string, string>(StringComparer.OrdinalIgnoreCase) { [":"] = first };
            while (await LineAsync(stream, cancellation) is { Length: > 0 } line)
            {
                headers[line[..line.IndexOf(':', StringComparison.Ordinal)]] = line[(line.IndexOf(':', StringComparison.Ordinal) + 1)..].Trim();
            }

            var body = new byte[int.Parse(headers["Content-Length"], System.Globalization.CultureInfo.InvariantCulture)];
            await stream.ReadExactlyAsync(body, cancellation);
            Requests.Enqueue((headers, Encoding.UTF8.GetString(body)));
            await SayAsync(stream, $"{Answer}\r\nContent-Length: 0\r\n", cancellation);
        }
    }
}
