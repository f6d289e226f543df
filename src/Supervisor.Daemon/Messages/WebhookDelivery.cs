using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Security;
using System.Security.Authentication;
using System.Security.Cryptography;
using System.Text;
using Supervisor.Configuration.Machines.Messages;
using Supervisor.Daemon.Hosting;
using Supervisor.History.Outbox;

namespace Supervisor.Daemon.Messages;

/// <summary>Sends messages as POST of JSON. Any 2xx is taken; of the rest, what may pass is tried again and what a request itself is at fault for is not.</summary>
/// <param name="webhook">What the machine file says.</param>
internal sealed class WebhookDelivery(WebhookDefinition webhook) : IDelivery
{
    /// <inheritdoc/>
    public async Task<DeliveryResult> SendAsync(OutboxMessage message, CancellationToken cancellation)
    {
        try
        {
            using var handler = Handler();
            using var client = new HttpClient(handler) { Timeout = Timeout.InfiniteTimeSpan };
            using var request = Request(message);

            // What the server says beyond its status is not read: it may be of any length.
            using var response = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, cancellation);
            return Judge(response);
        }
        catch (SecretException exception)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, exception.Message);
        }
        catch (OperationCanceledException)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, "the server did not answer in time.");
        }
        catch (HttpRequestException exception)
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, exception.InnerException is AuthenticationException ? $"the server's certificate is not trusted: {exception.InnerException.Message}" : $"{exception.Message}.");
        }
#pragma warning disable CA1031 // Whatever the network does, the channel goes on.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            return new DeliveryResult(DeliveryOutcome.NotNow, $"{exception.GetType().Name}: {exception.Message}");
        }
    }

    /// <summary>What a status means (RFC 9110, 15; 429: RFC 6585, 4).</summary>
    internal static DeliveryResult Judge(HttpResponseMessage response)
    {
        var status = (int)response.StatusCode;
        var told = string.Create(CultureInfo.InvariantCulture, $"HTTP {status}{(response.ReasonPhrase is { Length: > 0 and <= 60 } phrase ? $" {phrase}" : "")}");
        return status switch
        {
            >= 200 and < 300 => new DeliveryResult(DeliveryOutcome.Taken, told),
            >= 300 and < 400 => new DeliveryResult(DeliveryOutcome.Refused, $"{told}: the address leads elsewhere, which is not followed; put the new one into the machine file."),
            (int)HttpStatusCode.RequestTimeout or (int)HttpStatusCode.TooManyRequests => new DeliveryResult(DeliveryOutcome.NotNow, $"{told}.", RetryAfter(response), IsOfMessage: true),
            >= 400 and < 500 => new DeliveryResult(DeliveryOutcome.Refused, $"{told}."),
            _ => new DeliveryResult(DeliveryOutcome.NotNow, $"{told}.", RetryAfter(response), IsOfMessage: true),
        };
    }

    /// <summary>Seconds, or a date, which counts from the server's own clock: the board's may be wrong (RFC 9110, 10.2.3).</summary>
    private static TimeSpan? RetryAfter(HttpResponseMessage response) => response.Headers.RetryAfter switch
    {
        { Delta: { } delta } => delta,
        { Date: { } date } when response.Headers.Date is { } sent && date > sent => date - sent,
        _ => null,
    };

    private SocketsHttpHandler Handler()
    {
        var handler = new SocketsHttpHandler
        {
            AllowAutoRedirect = false,
            UseCookies = false,

            // What a person is told of must not depend on a variable in somebody's shell.
            UseProxy = false,
            MaxResponseHeadersLength = 64,
            SslOptions = new SslClientAuthenticationOptions { CertificateRevocationCheckMode = System.Security.Cryptography.X509Certificates.X509RevocationMode.NoCheck },
        };
        if (webhook.CertificateAuthority is { } path)
        {
            handler.SslOptions.RemoteCertificateValidationCallback = CertificateCheck.By(path);
        }

        return handler;
    }

    private HttpRequestMessage Request(OutboxMessage message)
    {
        var body = Encoding.UTF8.GetBytes(message.Content!.Body);
        var request = new HttpRequestMessage(HttpMethod.Post, Url()) { Content = new ByteArrayContent(body), VersionPolicy = HttpVersionPolicy.RequestVersionOrLower };
        request.Content.Headers.ContentType = new MediaTypeHeaderValue("application/json") { CharSet = "utf-8" };
        request.Headers.TryAddWithoutValidation("User-Agent", $"axis-supervisor/{ProgramVersion.Text}");

        // A string of a structured field (RFC 9651, 3.3.3), as the draft of this header asks for.
        request.Headers.TryAddWithoutValidation("Idempotency-Key", $"\"{message.Identity}\"");
        foreach (var (name, value) in webhook.Headers)
        {
            request.Headers.TryAddWithoutValidation(name, value);
        }

        foreach (var (name, place) in webhook.SecretHeaders)
        {
            request.Headers.TryAddWithoutValidation(name, Secrets.Read(place));
        }

        if (webhook.SignatureKey is { } key)
        {
            request.Headers.TryAddWithoutValidation(webhook.SignatureHeader, Sign(Secrets.Read(key), body));
        }

        return request;
    }

    /// <summary>HMAC-SHA256 (RFC 2104) of the body; how it is written down is common practice.</summary>
    internal static string Sign(string key, byte[] body) => $"sha256={Convert.ToHexStringLower(HMACSHA256.HashData(Encoding.UTF8.GetBytes(key), body))}";

    private Uri Url()
    {
        if (webhook.Url is { } url)
        {
            return url;
        }

        var text = Secrets.Read(webhook.SecretUrl!);
        return Uri.TryCreate(text, UriKind.Absolute, out var secret) && (secret.Scheme == Uri.UriSchemeHttps || secret.Scheme == Uri.UriSchemeHttp)
            ? secret
            : throw new SecretException($"{webhook.SecretUrl!.Name} holds no address that begins with https.");
    }
}
